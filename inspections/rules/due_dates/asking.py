"""What is asked for, before it is known how it stands: one row per author and due day.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Collection, Sequence
from datetime import date
from typing import Literal, NamedTuple

from inspections.rules.due_dates.calendar_arithmetic import in_words
from inspections.rules.due_dates.coverage import History
from inspections.rules.due_dates.facts import Demand

MOST_POINTS_NAMED = 5


class Asked(NamedTuple):
    """One obligation without its state; `why` is a whole sentence, the others as in `Obligation`."""

    rule: str
    demand: Demand
    points: Literal["all"] | tuple[str, ...]
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
    """The last day on which the demand was met at each of the points, each day once."""
    return tuple(sorted({history.days[-1] for history in found if history.days}))


def last_left_on(found: Sequence[History]) -> date | None:
    """The last day of a visit that met the demand elsewhere and left these points out."""
    return max((history.left_on for history in found if history.left_on), default=None)


def points_asked(asked: Collection[str], points: Sequence[str]) -> Literal["all"] | tuple[str, ...]:
    """ "all", or the points in the order the structure lists them."""
    if len(asked) == len(points):
        return "all"
    chosen = frozenset(asked)
    return tuple(point for point in points if point in chosen)


def left_out(found: Sequence[History]) -> str:
    """A sentence for the points that a part-done visit left, empty where none did."""
    last = last_left_on(found)
    if last is None:
        return ""
    points = [point for history in found if history.left_on for point in history.points]
    if not points:
        return ""
    named = f"{len(points)} points" if len(points) > MOST_POINTS_NAMED else _listed(points)
    keep = "keeps its" if len(points) == 1 else "keep their"
    return f" {named[0].upper()}{named[1:]} {keep} due day: left out at the visit of {in_words(last)}."


def _listed(points: Sequence[str]) -> str:
    if len(points) == 1:
        return f"point {points[0]}"
    return f"points {', '.join(points[:-1])} and {points[-1]}"
