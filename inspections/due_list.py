"""The due list: what is owed at the sites a person may see, in the order of consequence.

The lists run along the (firm, due, id) index: no sort, no walk of the whole table for the first pages.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Case, Exists, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Value, When
from django.db.models.lookups import IsNull

from inspections.local_days import days_in_force, local_day, usual_day
from inspections.models import DueDate, Visit, VisitState
from inspections.rules.due_dates.standing import DUE_SOON_DAYS
from inspections.standing_words import Called, Cited, Listed, Owed, owed_on
from sites.models import WHOLE_FIRM_ROLES, Person, Structure, VisitKind

MOST_COUNTED = 10_000
FEW_NAMED = 1_000
BOOK_AHEAD_DAYS = 91
OPEN_VISIT = (VisitState.PLANNED, VisitState.ON_SITE)

SHOWN = (
    "due", "grace_until", "applies_until", "suspended", "overdue_since", "dispensation_id", "demand", "author",
    "points", "parts", "why", "event_id", "suspension_id", "firm_id", "structure_id", "structure__name",
    "site_id", "site__name", "client_id", "client__name", "rule_id", "rule__source", "rule__edition", "site__time_zone",
    "visit_id", "visit_on",
)  # fmt: skip


def owed_to(person: Person, memberships: Iterable[tuple[int, str]], *, on: date) -> QuerySet[DueDate]:
    """Obligations at the sites this person may see on that day.

    memberships: (firm, role) of those in force on that day; whoever sees the whole of the one firm they
    belong to is answered along the firm's index
    """
    held = list(memberships)
    firms = {firm for firm, _ in held}
    if len(firms) == 1 and any(role in WHOLE_FIRM_ROLES for _, role in held):
        return DueDate.objects.filter(firm=firms.pop())
    return DueDate.objects.visible_to(person, on=on)


def named(rows: QuerySet[DueDate], structures: QuerySet[Structure], text: str) -> QuerySet[DueDate]:
    """Obligations of structures with the text anywhere in their own or their site's name; case does not matter.

    structures: those the person may see. Few of them are better looked up one by one than met along the
    firm's index, and the planner without statistics takes that index whenever the firm is named.
    """
    found = structures.filter(Q(name__icontains=text) | Q(site__name__icontains=text)).order_by()
    few = list(found.values_list("pk", flat=True)[: FEW_NAMED + 1])
    if len(few) <= FEW_NAMED:
        return DueDate.objects.filter(structure__in=few)
    return rows.filter(structure__in=found.values("pk"))


def with_today(rows: QuerySet[DueDate], at: datetime) -> QuerySet[DueDate]:
    """With ``today``, the civil day at each obligation's site, and ``soon_until``, 60 days later, to filter by.

    Beside each stand the first and the last day that it may be, so that few rows are asked for their zone.
    """
    first, last, soon = days_in_force(at)[0], days_in_force(at)[-1], timedelta(days=DUE_SOON_DAYS)
    return rows.alias(
        today=local_day("site__time_zone", at),
        today_first=Value(first),
        today_last=Value(last),
        soon_until=local_day("site__time_zone", at, plus_days=DUE_SOON_DAYS),
        soon_until_first=Value(first + soon),
        soon_until_last=Value(last + soon),
    ).order_by("due", "pk")


def _before(column: str, day: str) -> Q:
    """Whether a column lies before a day that ``with_today`` added."""
    last, own = Q(**{f"{column}__lt": F(f"{day}_last")}), Q(**{f"{column}__lt": F(day)})
    return last & (Q(**{f"{column}__lt": F(f"{day}_first")}) | own)


def _reaches(column: str, day: str) -> Q:
    """Whether a column lies on a day that ``with_today`` added, or after it."""
    first, own = Q(**{f"{column}__gte": F(f"{day}_first")}), Q(**{f"{column}__gte": F(day)})
    return first & (Q(**{f"{column}__gte": F(f"{day}_last")}) | own)


def running(rows: QuerySet[DueDate]) -> QuerySet[DueDate]:
    """Neither suspended nor ended. Takes rows ``with_today``."""
    return rows.filter(Q(applies_until__isnull=True) | _reaches("applies_until", "today"), suspended=False)


def stopped(rows: QuerySet[DueDate]) -> QuerySet[DueDate]:
    """Suspended, or asked for by a rule that no longer applies. Takes rows ``with_today``."""
    return rows.filter(Q(suspended=True) | _before("applies_until", "today"))


def overdue(rows: QuerySet[DueDate], at: datetime) -> QuerySet[DueDate]:
    """Running and past the last day of grace, which itself is not overdue. Takes rows ``with_today``."""
    # The second condition says nothing new, but it bounds the walk along the index.
    return running(rows).filter(_before("grace_until", "today"), due__lt=days_in_force(at)[-1])


def to_come(rows: QuerySet[DueDate]) -> QuerySet[DueDate]:
    """Running and not overdue: in grace, due, or due later. Takes rows ``with_today``."""
    return running(rows).filter(_reaches("grace_until", "today"))


def due_soon(rows: QuerySet[DueDate]) -> QuerySet[DueDate]:
    """Running, not overdue, and due in 60 days or fewer. Takes rows ``with_today``."""
    return to_come(rows).filter(
        Q(due__lte=F("soon_until_first")) | Q(due__lte=F("soon_until")), due__lte=F("soon_until_last")
    )


def due_now(rows: QuerySet[DueDate]) -> QuerySet[DueDate]:
    """Running, not overdue, and due today or before: due, or in grace. Takes rows ``with_today``."""
    by_today = Q(due__lte=F("today_first")) | Q(due__lte=F("today"))
    return to_come(rows).filter(by_today, due__lte=F("today_last"))


def of_week(rows: QuerySet[DueDate], monday: date, at: datetime) -> QuerySet[DueDate]:
    """Running, not overdue, and due in the seven days from that day on; in this week also what is in grace."""
    this = usual_day(at)
    first = date.min if monday <= this < monday + timedelta(weeks=1) else monday
    return to_come(rows).filter(due__gte=first, due__lt=monday + timedelta(weeks=1))


def sections(rows: QuerySet[DueDate], state: str, at: datetime) -> list[QuerySet[DueDate]]:
    """What a choice of state shows, one queryset after the other, each by due day.

    state: "overdue", "soon", "book", "stopped", or "" for all that run
    """
    if state == "book":
        ahead = to_come(rows).filter(_within_a_quarter(at))
        return [without_visit(overdue(rows, at)), without_visit(ahead)]
    if state == "overdue":
        return [overdue(rows, at)]
    if state == "soon":
        return [due_soon(rows)]
    if state == "stopped":
        return [stopped(rows)]
    return [overdue(rows, at), to_come(rows)]


def whole(rows: QuerySet[DueDate], state: str, at: datetime) -> QuerySet[DueDate]:
    """The same as ``sections`` gives, as one queryset, to be sorted by something else."""
    if state == "book":
        return without_visit(running(rows).filter(_within_a_quarter(at)))
    found = sections(rows, state, at)
    return found[0] if len(found) == 1 else running(rows)


def _within_a_quarter(at: datetime) -> Q:
    """Whether something is due before the time ends for which visits are booked ahead; what is overdue was."""
    last = days_in_force(at)[-1] + timedelta(days=BOOK_AHEAD_DAYS)
    quarter = local_day("site__time_zone", at, plus_days=BOOK_AHEAD_DAYS)
    return Q(due__lte=last) & Q(due__lte=quarter)


def by_consequence() -> Case:
    """Overdue, in grace, due within 60 days, later, suspended, ended. For rows ``with_today``."""
    ended, late = Q(applies_until__lt=F("today")), Q(grace_until__lt=F("today"))
    states = (
        (ended, 5),
        (Q(suspended=True), 4),
        (late, 0),
        (Q(due__lt=F("today")), 1),
        (Q(due__lte=F("soon_until")), 2),
    )
    whens = (When(state, then=Value(place)) for state, place in states)
    return Case(*whens, default=Value(3), output_field=IntegerField())


def next_planned() -> Subquery:
    """The day of the open visit that is next to settle an obligation."""
    return Subquery(settling_visits().values("planned_on")[:1])


def counted(rows: QuerySet[Any]) -> int:
    """How many, counted no further than one beyond 10,000."""
    return rows[: MOST_COUNTED + 1].count()


def slice_of(
    parts: Sequence[QuerySet[DueDate]] | QuerySet[DueDate], start: int, stop: int, *, at: datetime
) -> list[Owed[Listed]]:
    """Rows start to stop of the parts laid end to end, in at most two queries a part.

    A part is counted only where the slice begins beyond its end. One queryset is one that was sorted: then only its
    keys are, and what the rows show is fetched for those of the slice.
    """
    if isinstance(parts, QuerySet):
        ids = list(parts.values_list("pk", flat=True)[start:stop])
        by_key = standing_by_key(parts.order_by().filter(pk__in=ids), at)
        return [by_key[pk] for pk in ids if pk in by_key]
    found: list[Owed[Listed]] = []
    for part in parts:
        rows = [_standing(row, at) for row in dressed(part)[start:stop]]
        found += rows
        length = start + len(rows) if rows or start == 0 else part.count()
        start, stop = max(0, start - length), stop - length
        if stop <= 0:
            break
    return found


def standing_by_key(rows: QuerySet[DueDate], at: datetime) -> dict[int, Owed[Listed]]:
    """What a row of the list shows of each, by its key."""
    shown = dressed(rows).values_list("pk", *SHOWN)
    return {pk: _standing(tuple(row), at) for pk, *row in shown}


def dressed(rows: QuerySet[DueDate]) -> QuerySet[DueDate, Any]:
    """What a row of the list shows, as plain values, with the next open visit that may settle it, if any.

    Rows of models would cost several times what the statement does.
    """
    visits = settling_visits()
    return rows.annotate(
        visit_id=Subquery(visits.values("pk")[:1]),
        visit_on=Subquery(visits.values("planned_on")[:1]),
    ).values_list(*SHOWN)


def _standing(row: tuple[Any, ...], at: datetime) -> Owed[Listed]:
    """How a row of ``dressed`` stands at an instant."""
    *own, structure, building, site, place, client, company, rule, source, edition, zone, visit, visit_on = (
        row
    )
    belongs = Called(structure, building), Called(site, place), Called(client, company)
    listed = Listed._make((*own, *belongs, Cited(rule, source, edition) if rule else None))
    return owed_on(at.astimezone(ZoneInfo(zone)).date(), listed, visit=visit, visit_on=visit_on)


def open_visits(structure: OuterRef | Structure) -> QuerySet[Visit]:
    """Visits of a structure that are planned or on site, the next first."""
    return Visit.objects.filter(structure=structure, state__in=OPEN_VISIT).order_by("planned_on", "pk")


def settling_visits() -> QuerySet[Visit]:
    """The open visits that may settle an obligation (the outer row) by their kind, the next first.

    The same as ``rules.due_dates.coverage`` decides of visits that took place: a complete one settles everything, a
    first one every rule, an after-event one events, the others their own demand, and a re-test nothing.
    """
    return open_visits(OuterRef("structure")).filter(
        Q(kind=OuterRef("demand"))
        | Q(kind=VisitKind.COMPLETE)
        | Q(Q(kind=VisitKind.FIRST), IsNull(OuterRef("event"), True))
        | Q(Q(kind=VisitKind.AFTER_EVENT), IsNull(OuterRef("event"), False))
    )


def without_visit(rows: QuerySet[DueDate]) -> QuerySet[DueDate]:
    """Obligations that no visit planned or going on may settle."""
    return rows.filter(~Exists(settling_visits().order_by()))
