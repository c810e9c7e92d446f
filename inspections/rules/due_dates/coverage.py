"""Which visits satisfy a demand, and which points share one history of visits.

Complete and first visits satisfy every demand; visual and electrical ones their own; a re-test, an
after-event visit and an attended visit without access satisfy no rule.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from inspections.rules.due_dates.facts import Points

SATISFIED_BY = {
    "visual": frozenset({"complete", "first", "visual"}),
    "complete": frozenset({"complete", "first"}),
    "electrical": frozenset({"complete", "first", "electrical"}),
}
EVENT_MET_BY = frozenset({"complete", "after-event"})


class DayCovered(NamedTuple):
    """One visit as the engine counts it: its local day, its kind and the points it covered."""

    day: date
    kind: str
    points: Points


class History(NamedTuple):
    """Points that the same satisfying visits covered; `left_on` is the last of the others' days."""

    points: tuple[str, ...]
    days: tuple[date, ...]
    left_on: date | None


def satisfying(
    visits: Iterable[DayCovered], kinds: frozenset[str], since: date | None = None
) -> list[DayCovered]:
    """The visits of these kinds, on or after a day where one is given, in the order given."""
    return [visit for visit in visits if visit.kind in kinds and (since is None or visit.day >= since)]


def histories(visits: Sequence[DayCovered], points: Sequence[str]) -> list[History]:
    """Points grouped by the days on which a visit covered them, in the order of the points.

    visits: those that satisfy the demand, by ascending day
    Several part-done visits together may cover every point; each point keeps its own days. A structure
    without points has one history, of the visits that covered all.
    """
    if all(visit.points == "all" for visit in visits):
        return [History(tuple(points), tuple(visit.day for visit in visits), None)]
    grouped: dict[tuple[bool, ...], list[str]] = {}
    for point in points or ("",):
        covered = tuple(visit.points == "all" or point in visit.points for visit in visits)
        grouped.setdefault(covered, []).append(point)
    return [_history(visits, covered, found if points else []) for covered, found in grouped.items()]


def _history(visits: Sequence[DayCovered], covered: tuple[bool, ...], points: list[str]) -> History:
    days = tuple(visit.day for visit, was in zip(visits, covered, strict=True) if was)
    left = [visit.day for visit, was in zip(visits, covered, strict=True) if not was]
    left_on = left[-1] if left and (not days or left[-1] > days[-1]) else None
    return History(tuple(points), days, left_on)
