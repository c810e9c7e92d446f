"""What somebody is reminded of: what is overdue, due, or due soon at the places they answer for, and why."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import QuerySet

from inspections import defect_list, due_list, portfolio
from inspections.models import Defect, DueDate, ReminderChoice, ReminderRhythm
from inspections.rules.reminding import Telling
from inspections.standing_words import Owed
from sites.models import Firm, Membership, Person, Role

# These must know. Both see the places through their own walls.
REMINDED = (Role.PLANNER, Role.FACILITY)
MOST_NAMED = 100
EVERYTHING = Telling(soon=True)


@dataclass(frozen=True, slots=True)
class Reminder:
    """overdue, due, soon: how many; rows: the most pressing of them, MOST_NAMED at most

    dangers: open defects told as dangerous, or of the most urgent word with nothing done yet; MOST_NAMED at most
    dangerous: how many of those; since: where only what came after that day is told
    """

    overdue: int
    due: int
    soon: int
    rows: Sequence[Owed]
    dangerous: int = 0
    dangers: Sequence[Defect] = ()
    since: date | None = None

    @property
    def total(self) -> int:
        return self.overdue + self.due + self.soon + self.dangerous

    @property
    def left_out(self) -> int:
        return self.overdue + self.due + self.soon - len(self.rows)


def who(on: date) -> list[tuple[Person, Firm]]:
    """Everybody who must know, once a firm, in a steady order."""
    rows = Membership.objects.on(on).filter(
        role__in=REMINDED, person__is_active=True, person__email__isnull=False
    )
    found = rows.select_related("person", "firm").order_by("firm", "person", "pk")
    return list({(row.person_id, row.firm_id): (row.person, row.firm) for row in found}.values())


def choice_of(person: Person) -> tuple[str, int | None]:
    """Rhythm and weekday that hold for a person."""
    row = ReminderChoice.objects.filter(person=person).order_by("-recorded_at", "-pk").first()
    return (row.rhythm, row.weekday) if row else (ReminderRhythm.DAILY, None)


def of(person: Person, firm: Firm, *, at: datetime, tells: Telling = EVERYTHING) -> Reminder:
    """What a person is told about today. A planned visit takes nothing off: it only stands beside.

    Only what the person sees in a role that must know counts; nothing is told through another role's eyes.
    """
    on = at.date()
    held = Membership.objects.on(on).filter(person=person, firm=firm, role__in=REMINDED)
    roles: list[Any] = list(held.values_list("firm_id", "role"))
    rows = due_list.with_today(due_list.owed_to(person, roles, on=on).filter(firm=firm), at)
    late: QuerySet[DueDate] = due_list.overdue(rows, at)
    if tells.since is not None:
        late = late.filter(grace_until__gte=tells.since)
    soon = due_list.due_soon(rows) if tells.soon else rows.none()
    named = due_list.slice_of([late, soon], 0, MOST_NAMED, at=at)
    overdue, coming = late.count(), soon.count()
    due = due_list.due_now(rows).count() if tells.soon else 0
    dangers = _dangers(person, roles, firm, at, tells.since)
    return Reminder(
        overdue, due, coming - due, named, dangers.count(), list(dangers[:MOST_NAMED]), tells.since
    )


def _dangers(
    person: Person, roles: Iterable[Any], firm: Firm, at: datetime, since: date | None
) -> QuerySet[Defect]:
    places = portfolio.seen_by(person, roles, on=at.date()).filter(site__client__firm=firm)
    found = portfolio.urgent(defect_list.with_state(Defect.objects.filter(structure__in=places), at))
    if since is not None:
        found = found.filter(recorded_at__date__gt=since)
    return defect_list.by_consequence(found.select_related("structure__site", "urgency", "visit"))
