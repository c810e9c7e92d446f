"""What the structure's page offers those who answer for it, and what they wished for."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from inspections.models import Suspension, Wish
from sites import access
from sites.models import Membership, Person, Structure


@dataclass(frozen=True, slots=True)
class Owning:
    """suspended: the suspension in force or to come that has not ended; None where there is none"""

    wishes: list[Wish]
    suspended: Suspension | None
    may_report: bool
    may_wish: bool
    may_suspend: bool


def of_structure(structure: Structure, person: Person, today: date, *, on: date) -> Owning:
    """In three queries. today: at the site; structure: with its site's client"""
    held = Membership.objects.on(on).filter(person=person, firm=structure.site.client.firm_id)
    roles = frozenset(held.values_list("role", flat=True))
    open_ = Suspension.objects.with_end().filter(Q(ends_on=None) | Q(ends_on__gt=today), structure=structure)
    return Owning(
        wishes=wishes_of(structure, today),
        suspended=open_.order_by("since", "pk").first(),
        may_report=bool(roles & access.MAY[access.REPORT_EVENTS]),
        may_wish=bool(roles & access.MAY[access.WISH_DATES]),
        may_suspend=bool(roles & access.MAY[access.SUSPEND]),
    )


def wishes_of(structure: Structure, today: date) -> list[Wish]:
    """Wishes for days that are not over, the earliest first."""
    rows = Wish.objects.filter(structure=structure, until_day__gte=today).select_related("by")
    return list(rows.order_by("from_day", "pk")[:20])
