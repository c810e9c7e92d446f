"""What somebody is reminded of: what is overdue, due, or due soon at the places they answer for, and why."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import QuerySet

from inspections import due_list
from inspections.models import DueDate
from inspections.standing_words import Owed
from sites.models import Firm, Membership, Person, Role

# These must know. Both see the places through their own walls.
REMINDED = (Role.PLANNER, Role.FACILITY)
MOST_NAMED = 100


@dataclass(frozen=True, slots=True)
class Reminder:
    """overdue, due, soon: how many; rows: the most pressing of them, MOST_NAMED at most"""

    overdue: int
    due: int
    soon: int
    rows: Sequence[Owed]

    @property
    def total(self) -> int:
        return self.overdue + self.due + self.soon

    @property
    def left_out(self) -> int:
        return self.total - len(self.rows)


def who(on: date) -> list[tuple[Person, Firm]]:
    """Everybody who must know, once a firm, in a steady order."""
    rows = Membership.objects.on(on).filter(
        role__in=REMINDED, person__is_active=True, person__email__isnull=False
    )
    found = rows.select_related("person", "firm").order_by("firm", "person", "pk")
    return list({(row.person_id, row.firm_id): (row.person, row.firm) for row in found}.values())


def of(person: Person, firm: Firm, *, at: datetime) -> Reminder:
    """What a person is told about today. A planned visit takes nothing off: it only stands beside.

    Only what the person sees in a role that must know counts; nothing is told through another role's eyes.
    """
    on = at.date()
    held = Membership.objects.on(on).filter(person=person, firm=firm, role__in=REMINDED)
    roles: Iterable[Any] = held.values_list("firm_id", "role")
    rows = due_list.with_today(due_list.owed_to(person, roles, on=on).filter(firm=firm), at)
    late: QuerySet[DueDate] = due_list.overdue(rows, at)
    soon = due_list.due_soon(rows)
    named = due_list.slice_of([late, soon], 0, MOST_NAMED)
    overdue, coming = late.count(), soon.count()
    due = sum(1 for owed in named if owed.state in ("due", "in grace"))
    return Reminder(overdue, due, coming - due, named)
