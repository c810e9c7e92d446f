"""What the structure's page offers those who answer for it, and what they wished for."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from inspections.models import Suspension, Wish
from sites import access
from sites.models import Person, Structure


@dataclass(frozen=True, slots=True)
class Owning:
    """suspended: the suspension in force or to come that has not ended; None where there is none"""

    wishes: list[Wish]
    suspended: Suspension | None
    may_report: bool
    may_withdraw: bool
    may_wish: bool
    may_suspend: bool


def of_structure(structure: Structure, person: Person, today: date, *, on: date) -> Owning:
    """In three queries. today: at the site; structure: with its site's client"""
    allowed = access.acts_of(access.roles_at(person, structure.site, on=on))
    open_ = Suspension.objects.with_end().filter(Q(ends_on=None) | Q(ends_on__gt=today), structure=structure)
    return Owning(
        wishes=wishes_of(structure, today),
        suspended=open_.order_by("since", "pk").first(),
        may_report=access.REPORT_EVENTS in allowed,
        may_withdraw=access.WITHDRAW_EVENTS in allowed,
        may_wish=access.WISH_DATES in allowed,
        may_suspend=access.SUSPEND in allowed,
    )


def wishes_of(structure: Structure, today: date) -> list[Wish]:
    """Wishes for days that are not over, the earliest first."""
    rows = Wish.objects.filter(structure=structure, until_day__gte=today).select_related("by")
    return list(rows.order_by("from_day", "pk")[:20])
