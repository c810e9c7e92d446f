"""How many days may pass between something that happened and the inspection it calls for: rules as data."""

from datetime import date
from typing import Any

from django.db import models
from django.db.models import OuterRef, Q, Subquery

from inspections.models.due import EventKind
from inspections.models.rule import Edition
from sites.models import Fact, Person


class AllowanceQuerySet(models.QuerySet):
    def with_adoption(self) -> "AllowanceQuerySet":
        """Adds adopted_from and adopted_until, from the adoption recorded last; None where there is none."""
        latest = AllowanceAdoption.objects.filter(allowance=OuterRef("pk")).order_by("-recorded_at", "-pk")
        return self.annotate(
            adopted_from=Subquery(latest.values("adopted_from")[:1]),
            adopted_until=Subquery(latest.values("adopted_until")[:1]),
        )

    def adopted_on(self, day: date) -> "AllowanceQuerySet":
        """Editions in force on a day, both end days included; the adoption recorded last holds."""
        held: Any = self.with_adoption()
        return held.filter(Q(adopted_until__isnull=True) | Q(adopted_until__gte=day), adopted_from__lte=day)


class EventAllowance(Edition):
    """An author allows so many days after one kind of event. A change is a new edition."""

    kind = models.CharField(max_length=16, choices=EventKind)
    within_days = models.PositiveSmallIntegerField()

    objects = AllowanceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["firm", "code", "edition"], name="allowance_edition_once")
        ]


class AllowanceAdoption(Fact):
    """The firm takes an allowance into use, or ends its use, by a row. The one recorded last holds."""

    allowance = models.ForeignKey(EventAllowance, models.PROTECT, related_name="adoptions")
    adopted_from = models.DateField()
    adopted_until = models.DateField(null=True, blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(adopted_until__isnull=True) | Q(adopted_until__gte=models.F("adopted_from")),
                name="allowance_ends_after_it_begins",
                violation_error_message="An allowance cannot end before it was adopted.",
            )
        ]
