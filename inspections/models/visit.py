"""Visits: planned, on site, field complete, in review, issued, in amendment; or cancelled before they began."""

from datetime import date
from zoneinfo import ZoneInfo

from django.db import models
from django.db.models import Q

from sites.models import Fact, Firm, Person, Record, Structure, TestPoint, VisitKind


class VisitState(models.TextChoices):
    PLANNED = "planned", "planned"
    ON_SITE = "on site", "on site"
    FIELD_COMPLETE = "field complete", "field complete"
    IN_REVIEW = "in review", "in review"
    APPROVED = "approved", "approved"
    ISSUED = "issued", "issued"
    AMENDING = "in amendment", "in amendment"
    CANCELLED = "cancelled", "cancelled"


# The field work is complete: from then on the visit answers what was due.
DONE = (
    VisitState.FIELD_COMPLETE, VisitState.IN_REVIEW, VisitState.APPROVED, VisitState.ISSUED, VisitState.AMENDING,
)  # fmt: skip
NOT_TAKEN = "not taken"


class VisitQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "VisitQuerySet":
        """Visits at structures this person may see on that day."""
        return self.filter(structure__in=Structure.objects.visible_to(person, on=on).values("pk"))


class Visit(Record):
    """One visit to one structure. ``state`` is that of the latest ``VisitStep``.

    number: the firm's running number
    planned_on: that of the latest ``PlannedDay``; no due date hangs on it
    on_site_from, on_site_until: instants; the local day of the second is the day of the visit
    weather, rain_last_7_days, soil, air_temperature: words, or "not taken"
    agreed_limitations: what was agreed not to be looked at, with whom and why
    """

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="visits")
    structure = models.ForeignKey(Structure, models.PROTECT, related_name="visits")
    number = models.PositiveBigIntegerField()
    kind = models.CharField(max_length=24, choices=VisitKind)
    purpose = models.CharField(max_length=300)
    state = models.CharField(max_length=16, choices=VisitState, default=VisitState.PLANNED)
    planned_on = models.DateField()
    on_site_from = models.DateTimeField(null=True, blank=True)
    on_site_until = models.DateTimeField(null=True, blank=True)
    escort = models.CharField(max_length=200, blank=True)
    scope = models.CharField(max_length=600, blank=True)
    agreed_limitations = models.CharField(max_length=600, blank=True)
    weather = models.CharField(max_length=120, blank=True)
    rain_last_7_days = models.CharField(max_length=120, blank=True)
    soil = models.CharField(max_length=120, blank=True)
    air_temperature = models.CharField(max_length=120, blank=True)

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ["-planned_on", "-pk"]
        indexes = [
            models.Index(fields=["structure", "planned_on"], name="visit_of_structure"),
            models.Index(fields=["firm", "state", "planned_on"], name="visit_by_firm_state"),
            models.Index(fields=["state", "planned_on", "id"], name="visit_by_state"),
            models.Index(fields=["planned_on", "id"], name="visit_by_day"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["firm", "number"], name="visit_number_once_a_firm"),
            models.CheckConstraint(
                condition=Q(on_site_until__isnull=True) | Q(on_site_until__gte=models.F("on_site_from")),
                name="visit_ends_after_it_begins",
                violation_error_message="A visit cannot end before it begins.",
            ),
        ]

    def __str__(self) -> str:
        return f"visit {self.number}"

    def day_at(self, zone: ZoneInfo) -> date:
        """Its day at the site: that on which it ended, else began, else is planned for. zone: the site's"""
        moment = self.on_site_until or self.on_site_from
        return moment.astimezone(zone).date() if moment else self.planned_on

    @property
    def goes(self) -> str:
        """The names of the inspectors assigned, "" where nobody is."""
        return ", ".join(sorted(row.person.name for row in self.inspectors.all()))


class VisitPerson(Record):
    """An inspector assigned to a visit."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="inspectors")
    person = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["visit", "person"], name="inspector_once_a_visit")]


class VisitPoint(Record):
    """A point that a visit of limited extent is to read. A visit without such rows is to read every point."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="listed_points")
    point = models.ForeignKey(TestPoint, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["visit", "point"], name="point_once_a_visit")]


class VisitStep(Fact):
    """A change of a visit's state: when it was so, who did it, and what was said.

    at: when it was so; recorded_at: when it was entered
    """

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="steps")
    state = models.CharField(max_length=16, choices=VisitState)
    at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    words = models.CharField(max_length=400, blank=True)

    class Meta:
        ordering = ["recorded_at", "pk"]
