"""From rules and visits to due dates: a pure function of facts and a day.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Protocol, TypeVar
from zoneinfo import ZoneInfo

from inspections.rules.due_dates.answer import DueDates, Obligation
from inspections.rules.due_dates.asking import Asked
from inspections.rules.due_dates.calendar_arithmetic import DayOutOfRange, in_words, local_day
from inspections.rules.due_dates.coverage import DayCovered, Inventory
from inspections.rules.due_dates.events import asked_by_event
from inspections.rules.due_dates.facts import Dispensation, Event, IntervalRule, Suspension, VisitDone
from inspections.rules.due_dates.intervals import asked_by_rule, latest_dispensations
from inspections.rules.due_dates.standing import state_on, suspended_since
from inspections.rules.due_dates.suspension import asked_on_return, working_windows


class _Recorded(Protocol):
    @property
    def recorded(self) -> datetime | None: ...


Fact = TypeVar("Fact", bound=_Recorded)


def obligations(
    *,
    time_zone: ZoneInfo | str,
    rules: Sequence[IntervalRule],
    visits: Sequence[VisitDone],
    points: Sequence[str],
    parts: Sequence[str] | None = None,
    events: Sequence[Event] = (),
    suspensions: Sequence[Suspension] = (),
    dispensations: Sequence[Dispensation] = (),
    on: date,
    known_by: date | None = None,
) -> DueDates:
    """What is due on the day `on`, by whose rule and why.

    parts: what there is to look at; None where the case does not tell it apart from the points. Where every visit
    by then left no part out, parts are not told apart either: what is left is then a matter of points.
    known_by: None answers as it was, from every fact; a day answers from what had been recorded by the end
    of that day in the site's zone. Only visits finished and events that happened by `on` count either way.
    Rows come by due day; equal days in the order given, rules before events before suspensions.
    Raises: ValueError where a counted day leaves the years 1 to 9999 or an instant has no offset
    """
    zone = ZoneInfo(time_zone) if isinstance(time_zone, str) else time_zone
    seen = _days_covered(_known(visits, zone, known_by), zone, on)
    owed = _inventory(points, parts, seen)
    out_of_use = _known(suspensions, zone, known_by)
    allowed = latest_dispensations(_known(dispensations, zone, known_by))
    asked: list[Asked] = []
    asking = ""
    try:
        for rule in _known(rules, zone, known_by):
            asking = rule.id
            asked += asked_by_rule(rule, seen, owed.asked_by(rule.demand), allowed.get(rule.id), on)
        for event in _known(events, zone, known_by):
            asking = event.id
            asked += asked_by_event(event, seen, owed, on, zone)
        for suspension in out_of_use:
            asking = suspension.id
            asked += asked_on_return(suspension, seen, owed, on)
    except DayOutOfRange as error:
        error.asked_by = asking
        raise
    stopped = suspended_since(on, working_windows(out_of_use, zone)) if out_of_use else None
    rows = tuple(_standing(row, on, stopped) for row in sorted(asked, key=lambda row: row.due))
    return DueDates(rows, next((row for row in rows if row.state not in _NOT_NEXT), None))


_NOT_NEXT = frozenset({"suspended", "no longer applies"})


def _known(facts: Sequence[Fact], zone: ZoneInfo, known_by: date | None) -> Sequence[Fact]:
    if known_by is None:
        return facts
    return [fact for fact in facts if fact.recorded is None or local_day(fact.recorded, zone) <= known_by]


def _days_covered(visits: Sequence[VisitDone], zone: ZoneInfo, on: date) -> list[DayCovered]:
    """The visits up to `on`, by the day they finished in the site's zone."""
    days = [
        DayCovered(local_day(visit.finished, zone), visit.kind, visit.points_covered, visit.parts_covered)
        for visit in visits
    ]
    return sorted((visit for visit in days if visit.day <= on), key=lambda visit: visit.day)


def _inventory(points: Sequence[str], parts: Sequence[str] | None, seen: Sequence[DayCovered]) -> Inventory:
    if parts is not None and all(visit.parts == "all" for visit in seen):
        parts = ()
    return Inventory(points, parts)


def _standing(row: Asked, on: date, stopped: date | None) -> Obligation:
    standing = state_on(
        on,
        due=row.due,
        grace_until=row.grace_until,
        suspended_since=stopped,
        adopted_until=row.adopted_until,
    )
    why = row.why
    if standing.state == "suspended" and stopped is not None:
        why += f" Suspended since {in_words(stopped)}."
    elif standing.state == "no longer applies" and row.adopted_until is not None:
        why += f" The rule's last day was {in_words(row.adopted_until)}."
    return Obligation(
        rule=row.rule,
        demand=row.demand,
        points=row.left.points,
        due=row.due,
        grace_until=row.grace_until,
        state=standing.state,
        overdue_since=standing.overdue_since,
        days_overdue=standing.days_overdue,
        why=why,
        allowed_until=row.allowed_until,
        parts=row.left.parts,
        since=row.since,
        sums=row.sums,
        met_on=row.met_on,
        left_on=row.left_on,
    )
