"""Readings as the display showed them, reasons for no reading, and the verdicts computed from them."""

from datetime import date

from django.db import models
from django.db.models import Exists, OuterRef, Q

from inspections.models.instrument import Calibration, Instrument, InstrumentRange
from inspections.models.rule import LimitRule
from inspections.models.visit import Visit
from sites.fields import ExactDecimalField, sort_column
from sites.models import Fact, ImportedFile, ImportWithdrawal, PartDetail, Person, TestPoint


class Reason(models.TextChoices):
    NOT_TESTED = "not tested", "not tested"
    NOT_ACCESSIBLE = "not accessible", "not accessible"
    ACCESS_REFUSED = "access refused", "access refused"
    NOT_FOUND = "not found", "not found"
    NOT_SEPARABLE = "not separable", "not separable"


class StandingQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "StandingQuerySet":
        """Rows of visits this person may see on that day."""
        return self.filter(visit__in=Visit.objects.visible_to(person, on=on).values("pk"))

    def standing(self) -> "StandingQuerySet":
        """Rows that count: neither replaced by a correction nor withdrawn with their import."""
        corrections = self.model._default_manager.filter(replaces=OuterRef("pk"))
        withdrawn = ImportWithdrawal.objects.filter(file=OuterRef("file"))
        return self.filter(~Exists(corrections), ~Exists(withdrawn))


class Reading(Fact):
    """What the display said, with everything that gives it meaning. Never changed, never deleted.

    text, unit: as displayed; value_ohm: the same, exact, in ohm; None for over range, below a value, or no display
    current_a: what flowed; set_current_a: what the instrument was set to, where it was noted
    repeats, reversed_displays: further displays, one a line, in the same unit
    dropped: displays left out, one a line: the display, a space, the reason
    null_taken_at: when the leads were nulled; waited_s: how long the display was left to settle
    positions: for fall of potential, "percent text" pairs, one a line
    at: when it was read; recorded_at: when it was entered
    replaces: the reading this one corrects, with the reason in ``correction``
    """

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="readings")
    point = models.ForeignKey(TestPoint, models.PROTECT, related_name="readings")
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="readings")
    range = models.ForeignKey(InstrumentRange, models.PROTECT, related_name="+")
    text = models.CharField(max_length=24)
    unit = models.CharField(max_length=8)
    value_ohm = ExactDecimalField(null=True, blank=True)
    value_order = sort_column("value_ohm")
    method = models.CharField(max_length=20)
    current_a = ExactDecimalField(null=True, blank=True)
    set_current_a = ExactDecimalField(null=True, blank=True)
    temperature_c = ExactDecimalField(null=True, blank=True)
    temperature_source = models.CharField(max_length=12)
    temperature_accuracy_k = ExactDecimalField(null=True, blank=True)
    repeats = models.TextField(blank=True, default="")
    reversed_displays = models.TextField(blank=True, default="")
    positions = models.TextField(blank=True, default="")
    dropped = models.TextField(blank=True, default="")
    null_ohm = ExactDecimalField(null=True, blank=True)
    null_taken_at = models.DateTimeField(null=True, blank=True)
    waited_s = ExactDecimalField(null=True, blank=True)
    open_circuit_v = ExactDecimalField(null=True, blank=True)
    joint_state = models.CharField(max_length=60, blank=True, default="")
    at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    file = models.ForeignKey(ImportedFile, models.PROTECT, null=True, related_name="readings")
    replaces = models.OneToOneField("self", models.PROTECT, null=True, related_name="replaced_by")
    correction = models.CharField(max_length=400, blank=True, default="")

    objects = StandingQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["point", "at"], name="reading_history"),
            # Few rows correct another. The unique index is full of nothing, and SQLite, once it has statistics, would
            # rather walk the whole table for each row than look into it.
            models.Index(fields=["replaces"], condition=Q(replaces__isnull=False), name="reading_corrected"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(replaces__isnull=True) | ~Q(correction=""),
                name="correction_says_why",
                violation_error_message="Say why the reading is corrected.",
            )
        ]


class NoReading(Fact):
    """A point that was not read at a visit, and why.

    words: what stood in the way, and what would help
    """

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="no_readings")
    point = models.ForeignKey(TestPoint, models.PROTECT, related_name="no_readings")
    reason = models.CharField(max_length=16, choices=Reason)
    words = models.CharField(max_length=400, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    file = models.ForeignKey(ImportedFile, models.PROTECT, null=True, related_name="no_readings")
    replaces = models.OneToOneField("self", models.PROTECT, null=True, related_name="replaced_by")

    objects = StandingQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["replaces"], condition=Q(replaces__isnull=False), name="reason_corrected")
        ]


class Verdict(Fact):
    """What a reading meant when it was recorded: computed, never typed, and never rewritten.

    limit, calibration, part, previous, baseline: the rows it was reckoned from, so that it can be reckoned again
    calibration: the one covering the day, else the last one made before it, else None
    electrodes: how many the system had that day, where the limit is the whole earth's and one of them was read
    previous: the last reading by the same method, else the last by any; baseline: the first by the same method
    """

    reading = models.OneToOneField(Reading, models.PROTECT, related_name="verdict", primary_key=True)
    calculation_version = models.CharField(max_length=12)
    limit = models.ForeignKey(LimitRule, models.PROTECT, null=True, related_name="+")
    calibration = models.ForeignKey(Calibration, models.PROTECT, null=True, related_name="+")
    part = models.ForeignKey(PartDetail, models.PROTECT, null=True, related_name="+")
    electrodes = models.PositiveSmallIntegerField(null=True)
    previous = models.ForeignKey(Reading, models.PROTECT, null=True, related_name="+")
    baseline = models.ForeignKey(Reading, models.PROTECT, null=True, related_name="+")
    outcome = models.CharField(max_length=16)
    statement = models.CharField(max_length=20, blank=True, default="")
    reason = models.CharField(max_length=400, blank=True, default="")
    corrected_ohm = ExactDecimalField(null=True)
    corrected_order = sort_column("corrected_ohm")
    uncertainty_ohm = ExactDecimalField(null=True)
    change = models.CharField(max_length=16)
    change_percent = ExactDecimalField(null=True)
    baseline_percent = ExactDecimalField(null=True)
    questions = models.TextField(blank=True, default="")

    class Meta:
        indexes = [models.Index(fields=["outcome"], name="verdict_outcome")]
