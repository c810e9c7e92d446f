"""What is owed: events and suspensions as facts, due dates as rows derived from them."""

from datetime import date

from django.db import models
from django.db.models import F, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce

from inspections.models.rule import IntervalRule
from inspections.models.rule_life import Dispensation
from inspections.rules.due_dates import ASKED_FOR, Obligation
from sites.models import Client, Fact, Firm, Identified, Person, Site, Structure


class EventKind(models.TextChoices):
    STRIKE = "strike", "lightning strike"
    ALTERATION = "alteration", "alteration"
    ROOF = "re-roof", "re-roofing"
    PLANT = "new plant", "new plant"
    EXCAVATION = "excavation", "excavation near electrodes"
    THEFT = "theft", "theft of conductor"
    FLOOD = "flood", "flood"
    FIRE = "fire", "fire"
    REPAIR = "repair", "repair"


class EventQuerySet(models.QuerySet):
    def standing(self) -> "EventQuerySet":
        """Those not withdrawn."""
        return self.filter(withdrawal__isnull=True)


class Event(Fact, Identified):
    """Something that calls for an inspection within so many days of the day it happened.

    on: the day it happened; recorded_at: when it was reported, however late
    days_by: who allows so many days, by which source; empty where it was entered with the event
    by: who entered it; None where it was recorded before that was kept
    """

    structure = models.ForeignKey(Structure, models.PROTECT, related_name="events")
    kind = models.CharField(max_length=16, choices=EventKind)
    on = models.DateField()
    inspect_within_days = models.PositiveSmallIntegerField()
    reported_by = models.CharField(max_length=200)
    words = models.CharField(max_length=400, blank=True)
    days_by = models.CharField(max_length=400, blank=True)
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    objects = EventQuerySet.as_manager()


class EventWithdrawal(Fact):
    """An event was reported in error: it asks for nothing from now on. words: why"""

    event = models.OneToOneField(Event, models.PROTECT, related_name="withdrawal")
    words = models.CharField(max_length=600)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")


class SuspensionQuerySet(models.QuerySet):
    def with_end(self) -> "SuspensionQuerySet":
        """Adds ``ends_on``: the last day as stated last, else as first stated; None while open."""
        ended = SuspensionEnd.objects.filter(suspension=OuterRef("pk")).order_by("-recorded_at", "-pk")
        return self.annotate(ends_on=Coalesce(Subquery(ended.values("last_day")[:1]), F("until")))


class Suspension(Fact, Identified):
    """A structure out of use: by whose authority, from when, until when (None while open).

    A later ``SuspensionEnd`` says another last day.
    """

    structure = models.ForeignKey(Structure, models.PROTECT, related_name="suspensions")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    authority = models.CharField(max_length=300)
    return_inspection = models.BooleanField(default=True)

    objects = SuspensionQuerySet.as_manager()

    # Added by ``SuspensionQuerySet.with_end``.
    ends_on: date | None


class SuspensionEnd(Fact, Identified):
    """A suspension ends: the last day out of use, by whose authority. Of several the row recorded last holds."""

    suspension = models.ForeignKey(Suspension, models.PROTECT, related_name="ends")
    last_day = models.DateField()
    authority = models.CharField(max_length=300)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["recorded_at", "pk"]


class Wish(Fact, Identified):
    """Days on which those who answer for a structure ask for a visit. It moves no due date and no plan by itself."""

    structure = models.ForeignKey(Structure, models.PROTECT, related_name="wishes")
    from_day = models.DateField()
    until_day = models.DateField()
    words = models.CharField(max_length=400, blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["from_day", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(until_day__gte=F("from_day")),
                name="wish_ends_after_it_begins",
                violation_error_message="The last day lies before the first.",
            )
        ]


class DueDateQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "DueDateQuerySet":
        return self.filter(site__in=Site.objects.visible_to(person, on=on).values("pk"))


class DueDate(models.Model):
    """One obligation of a structure and the day it is due: derived, and refreshed with every fact it hangs on.

    Firm, client and site are repeated so that a list over two hundred thousand structures needs no walk.
    points: how many points it still concerns; None where it concerns everything its demand asks for
    parts: how many parts, where a visit left some; None where parts are not told apart
    dispensation: what its rule's own author allowed, where that moved the consequence (``grace_until``)
    suspended, overdue_since: as of the last refresh, where a suspension stopped the count
    governs: the earliest of its structure
    """

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="+")
    client = models.ForeignKey(Client, models.PROTECT, related_name="+")
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    structure = models.ForeignKey(Structure, models.PROTECT, related_name="due_dates")
    rule = models.ForeignKey(IntervalRule, models.PROTECT, null=True, related_name="+")
    event = models.ForeignKey(Event, models.PROTECT, null=True, related_name="+")
    suspension = models.ForeignKey(Suspension, models.PROTECT, null=True, related_name="+")
    dispensation = models.ForeignKey(Dispensation, models.PROTECT, null=True, related_name="+")
    demand = models.CharField(max_length=12)
    author = models.CharField(max_length=200)
    points = models.PositiveIntegerField(null=True)
    parts = models.PositiveIntegerField(null=True)
    due = models.DateField()
    grace_until = models.DateField()
    applies_until = models.DateField(null=True)
    suspended = models.BooleanField(default=False)
    overdue_since = models.DateField(null=True)
    governs = models.BooleanField(default=False)
    why = models.TextField()

    objects = DueDateQuerySet.as_manager()

    # Added by ``actions.due.reckon``: what the row was made of.
    reckoned: Obligation

    class Meta:
        ordering = ["due", "pk"]
        indexes = [
            models.Index(fields=["firm", "due", "id"], name="due_of_firm"),
            models.Index(fields=["client", "due", "id"], name="due_of_client"),
            models.Index(fields=["site", "due", "id"], name="due_of_site"),
            models.Index(fields=["structure"], condition=Q(governs=True), name="due_governing"),
        ]

    @property
    def asked_for(self) -> str:
        """Its demand as a sentence names it, such as “electrical test”."""
        return ASKED_FOR[self.demand]

    @property
    def anchor(self) -> str:
        return anchor_of(self.rule_id, self.event_id, self.suspension_id, self.due)


def anchor_of(rule: int | None, event: int | None, suspension: int | None, due: date) -> str:
    """What tells an obligation from its structure's others, also after a refresh: ``rule-5-2027-11-04``."""
    asks = ("rule", rule), ("event", event), ("return", suspension)
    name = next((f"{kind}-{pk}" for kind, pk in asks if pk), "asked")
    return f"{name}-{due.isoformat()}"
