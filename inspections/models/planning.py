"""When a visit is planned for, with every day it was moved from, what goes along, and what was booked all the same."""

from django.db import models
from django.db.models import Q

from inspections.models.instrument import Instrument
from inspections.models.visit import Visit
from sites.models import Fact, Person, Record


class MoveReason(models.TextChoices):
    WEATHER = "weather", "weather"
    ACCESS = "access", "access"
    CLIENT = "client", "client"
    STAFF = "staff", "staff"
    INSTRUMENT = "instrument", "instrument"
    PERMIT = "permit", "permit"
    OTHER = "other", "other"


class PlannedDay(Fact):
    """A day a visit was planned for, a civil day at its site. The row recorded last holds.

    reason: why it was moved there; "" for the first day, which was moved from nowhere
    """

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="planned_days")
    planned_on = models.DateField()
    reason = models.CharField(max_length=12, choices=MoveReason, blank=True)
    words = models.CharField(max_length=400, blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["recorded_at", "pk"]
        indexes = [models.Index(fields=["visit"], condition=~Q(reason=""), name="moves_of_visit")]
        constraints = [
            models.CheckConstraint(
                condition=~Q(reason="other") | ~Q(words=""),
                name="other_reason_says_which",
                violation_error_message="Say what the other reason is.",
            )
        ]


class VisitInstrument(Record):
    """An instrument that is meant to go along to a visit."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="instruments")
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "instrument"], name="instrument_once_a_visit")
        ]


class BookedAnyway(Fact):
    """Something that does not fit a planned day, and why the planner booked it all the same.

    gap: the sentence that would have refused it
    """

    planned_day = models.ForeignKey(PlannedDay, models.PROTECT, related_name="booked_anyway")
    gap = models.CharField(max_length=400)
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["recorded_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(reason=""),
                name="booked_anyway_says_why",
                violation_error_message="Say why it is booked all the same.",
            )
        ]
