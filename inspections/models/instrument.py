"""Instruments, their ranges and their calibrations."""

from datetime import date

from django.db import models
from django.db.models import F, Q

from sites.fields import ExactDecimalField, sort_column
from sites.models import Fact, Firm, Record


class Instrument(Record):
    firm = models.ForeignKey(Firm, models.PROTECT, related_name="instruments")
    serial = models.CharField("serial number", max_length=60)
    description = models.CharField(max_length=200)

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
    def covering(self, day: date) -> "CalibrationQuerySet":
        """Calibrations valid on a day, both end days included, the newest first."""
        return self.filter(calibrated_on__lte=day, valid_until__gte=day).order_by("-calibrated_on", "-pk")


class Calibration(Fact):
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="calibrations")
    certificate = models.CharField("certificate number", max_length=60)
    calibrated_on = models.DateField()
    valid_until = models.DateField()

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
                fields=["instrument", "certificate"], name="certificate_once_an_instrument"
            ),
        ]
