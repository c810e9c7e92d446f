"""How a test point stands: one answer for the schematic, the list beside it and the file taken of the list."""

from typing import NamedTuple

from inspections.models import NoReading, Reason
from inspections.structure_record import PointRow
from sites.templatetags.downlead import day


class Stand(NamedTuple):
    """word: a state of ``family``; aside: what is said in a second line"""

    word: str
    family: str
    aside: str = ""


def stand_of(row: PointRow) -> Stand:
    """Retired, else the verdict on its last reading, else why it was not read, else that nothing was entered."""
    last = row.last
    if row.retired and row.point.retired_on is not None:
        return Stand("retired", "point", f"on {day(row.point.retired_on)}")
    if last is None:
        return Stand("nothing entered yet", "point")
    if isinstance(last, NoReading):
        return Stand(last.reason, "not read", last.words)
    verdict = getattr(last, "verdict", None)
    if verdict is None:
        return Stand("no verdict", "point")
    return Stand(verdict.outcome, "verdict", verdict.reason)


def not_found(row: PointRow) -> bool:
    """Whether whoever looked last did not find what is to be measured: a conductor missing or stolen."""
    last = row.last
    return not row.retired and isinstance(last, NoReading) and last.reason == Reason.NOT_FOUND
