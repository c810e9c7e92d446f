"""Instruments, their ranges and their calibrations; what was corrected or withdrawn stays and counts no more."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from sites.fields import ExactDecimalField, sort_column
from sites.models import Fact, Firm, Membership, Person, Record, Role, Structure
from sites.models.media import Media

# Who works for the firm sees what it measures with; others what was used where they may look.
OF_THE_FIRM = (Role.PLANNER, Role.INSPECTOR, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY)


class InstrumentQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "InstrumentQuerySet":
        """The firm's instruments for its people; for others those that something was read with where they may look."""
        held = Membership.objects.on(on).filter(person=person)
        places = Structure.objects.visible_to(person, on=on).values("pk")
        elsewhere = held.exclude(role__in=OF_THE_FIRM).values("firm")
        used = self.model._default_manager.filter(
            firm__in=elsewhere, readings__visit__structure__in=places
        ).values("pk")
        return self.filter(Q(firm__in=held.filter(role__in=OF_THE_FIRM).values("firm")) | Q(pk__in=used))


class Instrument(Record):
    firm = models.ForeignKey(Firm, models.PROTECT, related_name="instruments")
    serial = models.CharField("serial number", max_length=60)
    description = models.CharField(max_length=200)

    objects = InstrumentQuerySet.as_manager()

    class Meta:
        ordering = ["serial", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["firm", "serial"], name="instrument_serial_once_a_firm")
        ]

    def __str__(self) -> str:
        return f"{self.description} {self.serial}"


class InstrumentRange(Fact):
    """A range as its maker states it: accuracy is percent of reading plus digits, a digit being one step.

    text: the range as people name it, e.g. "25 mΩ"
    """

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="ranges")
    text = models.CharField(max_length=24)
    top_ohm = ExactDecimalField()
    top_order = sort_column("top_ohm")
    step_ohm = ExactDecimalField()
    percent_of_reading = ExactDecimalField()
    digits = ExactDecimalField()

    class Meta:
        ordering = ["top_order"]
        constraints = [
            models.UniqueConstraint(fields=["instrument", "top_ohm"], name="range_once_an_instrument")
        ]


class CalibrationQuerySet(models.QuerySet):
    def standing(self) -> "CalibrationQuerySet":
        """Those that were neither corrected nor withdrawn."""
        return self.filter(replaced_by__isnull=True, withdrawal__isnull=True)

    def covering(self, day: date) -> "CalibrationQuerySet":
        """Calibrations valid on a day, both end days included, the newest first."""
        return self.filter(calibrated_on__lte=day, valid_until__gte=day).order_by("-calibrated_on", "-pk")


class Tolerance(models.TextChoices):
    """What the laboratory found against the maker's accuracy, before or after adjusting."""

    WITHIN = "within", "within tolerance"
    OUTSIDE = "outside", "out of tolerance"
    NOT_STATED = "not stated", "not stated"


class Calibration(Fact):
    """A calibration as its certificate states it. Both end days belong to it.

    as_found, as_left: before and after the laboratory adjusted anything
    laboratory: who calibrated, with their accreditation as the certificate words it
    replaces: the row this one corrects, with the reason in ``correction``
    """

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="calibrations")
    certificate = models.CharField("certificate number", max_length=60)
    calibrated_on = models.DateField()
    valid_until = models.DateField()
    as_found = models.CharField(max_length=12, choices=Tolerance, default=Tolerance.NOT_STATED)
    as_left = models.CharField(max_length=12, choices=Tolerance, default=Tolerance.NOT_STATED)
    laboratory = models.CharField(max_length=300, blank=True)
    words = models.CharField(max_length=400, blank=True)
    replaces = models.OneToOneField("self", models.PROTECT, null=True, related_name="replaced_by")
    correction = models.CharField(max_length=400, blank=True)

    objects = CalibrationQuerySet.as_manager()

    class Meta:
        ordering = ["calibrated_on", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(valid_until__gte=F("calibrated_on")),
                name="calibration_ends_after_it_begins",
                violation_error_message="A calibration cannot end before the day it was made.",
            ),
            models.UniqueConstraint(
                fields=["instrument", "certificate"],
                condition=Q(replaces__isnull=True),
                name="certificate_once_an_instrument",
            ),
            models.CheckConstraint(
                condition=Q(replaces__isnull=True) | ~Q(correction=""),
                name="a_corrected_calibration_says_why",
            ),
        ]

    def __str__(self) -> str:
        return f"certificate {self.certificate}"


class CalibrationFile(Fact):
    """The certificate itself, as it was handed in. Its bytes lie in the file store under their hash."""

    calibration = models.OneToOneField(Calibration, models.PROTECT, related_name="file")
    name = models.CharField(max_length=140)
    media = models.CharField(max_length=80, choices=Media)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")


class CalibrationWithdrawal(Fact):
    """A calibration that was recorded wrongly and has no better row."""

    calibration = models.OneToOneField(Calibration, models.PROTECT, related_name="withdrawal")
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")


class InstrumentRetirement(Fact):
    """From this day on the instrument is no longer taken along. What was read with it stays."""

    instrument = models.OneToOneField(Instrument, models.PROTECT, related_name="retirement")
    on = models.DateField()
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
