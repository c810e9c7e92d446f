"""Which visits satisfy a demand, and which points and parts share one history of visits.

A visual demand is covered part by part, an electrical one point by point, a complete one by both. Where the parts
are not given, everything is covered point by point.

Complete and first visits satisfy every demand; visual and electrical ones their own; a re-test, an
after-event visit and an attended visit without access satisfy no rule.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from inspections.rules.due_dates.facts import Demand, Points

SATISFIED_BY = {
    "visual": frozenset({"complete", "first", "visual"}),
    "complete": frozenset({"complete", "first"}),
    "electrical": frozenset({"complete", "first", "electrical"}),
}
EVENT_MET_BY = frozenset({"complete", "after-event"})


class DayCovered(NamedTuple):
    """One visit as the engine counts it: its local day, its kind, the points and the parts it covered."""

    day: date
    kind: str
    points: Points
    parts: Points = "all"


class Inventory(NamedTuple):
    """What of a structure is to be covered. points, parts: None where they are not asked for, or not told apart"""

    points: Sequence[str] | None
    parts: Sequence[str] | None = None

    def asked_by(self, demand: Demand) -> "Inventory":
        """What the demand looks at."""
        if self.parts is None or demand == "complete":
            return self
        return Inventory(None, self.parts) if demand == "visual" else Inventory(self.points)

    def covered_by(self, visit: DayCovered) -> bool:
        """Whether the visit left nothing of it, whatever there is."""
        points = self.points is None or visit.points == "all"
        return points and (self.parts is None or visit.parts == "all")


class History(NamedTuple):
    """Points and parts that the same satisfying visits covered; `left_on` is the last of the others' days."""

    points: tuple[str, ...]
    parts: tuple[str, ...]
    days: tuple[date, ...]
    left_on: date | None


def satisfying(
    visits: Iterable[DayCovered], kinds: frozenset[str], since: date | None = None
) -> list[DayCovered]:
    """The visits of these kinds, on or after a day where one is given, in the order given."""
    return [visit for visit in visits if visit.kind in kinds and (since is None or visit.day >= since)]


def histories(visits: Sequence[DayCovered], owed: Inventory) -> list[History]:
    """Points and parts grouped by the days on which a visit covered them: first the points, in their order.

    visits: those that satisfy the demand, by ascending day
    Several part-done visits together may cover everything; each point and part keeps its own days. A structure
    without either has one history, of the visits that covered all.
    """
    if all(owed.covered_by(visit) for visit in visits):
        days = tuple(visit.day for visit in visits)
        return [History(tuple(owed.points or ()), tuple(owed.parts or ()), days, None)]
    grouped: dict[tuple[bool, ...], tuple[list[str], list[str]]] = {}
    for point in owed.points or ():
        covered = tuple(visit.points == "all" or point in visit.points for visit in visits)
        grouped.setdefault(covered, ([], []))[0].append(point)
    for part in owed.parts or ():
        covered = tuple(visit.parts == "all" or part in visit.parts for visit in visits)
        grouped.setdefault(covered, ([], []))[1].append(part)
    if not grouped:
        grouped[tuple(owed.covered_by(visit) for visit in visits)] = ([], [])
    return [_history(visits, covered, *found) for covered, found in grouped.items()]


def _history(
    visits: Sequence[DayCovered], covered: tuple[bool, ...], points: list[str], parts: list[str]
) -> History:
    days = tuple(visit.day for visit, was in zip(visits, covered, strict=True) if was)
    left = [visit.day for visit, was in zip(visits, covered, strict=True) if not was]
    left_on = left[-1] if left and (not days or left[-1] > days[-1]) else None
    return History(tuple(points), tuple(parts), days, left_on)
