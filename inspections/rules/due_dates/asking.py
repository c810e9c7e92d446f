"""What is asked for, before it is known how it stands: one row per author and due day.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Sequence
from datetime import date
from typing import Literal, NamedTuple

from inspections.rules.due_dates.calendar_arithmetic import in_words
from inspections.rules.due_dates.coverage import History, Inventory
from inspections.rules.due_dates.facts import Demand

MOST_POINTS_NAMED = 5


class Left(NamedTuple):
    """What one obligation still concerns: everything, or these points and these parts."""

    points: Literal["all"] | tuple[str, ...]
    parts: Literal["all"] | tuple[str, ...]


class Asked(NamedTuple):
    """One obligation without its state; `why` is a whole sentence, the others as in `Obligation`."""

    rule: str
    demand: Demand
    left: Left
    due: date
    grace_until: date
    why: str
    adopted_until: date | None = None
    allowed_until: date | None = None
    since: date | None = None
    sums: tuple[str, ...] = ()
    met_on: tuple[date, ...] = ()
    left_on: date | None = None


def days_met(found: Sequence[History]) -> tuple[date, ...]:
    """The last day on which the demand was met at each of the points and parts, each day once."""
    return tuple(sorted({history.days[-1] for history in found if history.days}))


def last_left_on(found: Sequence[History]) -> date | None:
    """The last day of a visit that met the demand elsewhere and left these points or parts out."""
    return max((history.left_on for history in found if history.left_on), default=None)


def what_is_left(found: Sequence[History], owed: Inventory) -> Left:
    """All that is asked for, or the points and the parts of these histories in the order the structure lists them."""
    points = {point for history in found for point in history.points}
    parts = {part for history in found for part in history.parts}
    all_points, all_parts = owed.points or (), owed.parts or ()
    if (len(points), len(parts)) == (len(all_points), len(all_parts)):
        return Left("all", "all")
    return Left(
        tuple(point for point in all_points if point in points),
        tuple(part for part in all_parts if part in parts),
    )


def left_out(found: Sequence[History]) -> str:
    """A sentence for what a part-done visit left, empty where none did anything of the kind.

    Points are named by their numbers; parts are counted, since what a part is called may change.
    """
    last = last_left_on(found)
    if last is None:
        return ""
    left = [history for history in found if history.left_on]
    points = [point for history in left for point in history.points]
    parts = sum(len(history.parts) for history in left)
    if not (points or parts):
        return ""
    named = " and ".join(filter(None, (_points(points), _parts(parts))))
    keep = "keeps its" if len(points) + parts == 1 else "keep their"
    return f" {named[0].upper()}{named[1:]} {keep} due day: left out at the visit of {in_words(last)}."


def _points(points: Sequence[str]) -> str:
    if len(points) > MOST_POINTS_NAMED:
        return f"{len(points)} points"
    if len(points) < 2:
        return f"point {points[0]}" if points else ""
    return f"points {', '.join(points[:-1])} and {points[-1]}"


def _parts(count: int) -> str:
    return f"{count} part{'' if count == 1 else 's'}" if count else ""
