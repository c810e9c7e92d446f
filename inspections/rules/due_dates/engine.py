"""From rules and visits to due dates: a pure function of facts and a day."""

from collections.abc import Sequence
from datetime import date
from zoneinfo import ZoneInfo

from inspections.rules.due_dates.answer import DueDates
from inspections.rules.due_dates.facts import Dispensation, Event, IntervalRule, Suspension, VisitDone


def obligations(
    *,
    time_zone: ZoneInfo | str,
    rules: Sequence[IntervalRule],
    visits: Sequence[VisitDone],
    points: Sequence[str],
    events: Sequence[Event] = (),
    suspensions: Sequence[Suspension] = (),
    dispensations: Sequence[Dispensation] = (),
    on: date,
    known_by: date | None = None,
) -> DueDates:
    """What is due, by whose rule and why, as seen on the day `on`.

    known_by: None answers as it was; a day answers from what had been recorded by that day's local end.
    """
    raise NotImplementedError
