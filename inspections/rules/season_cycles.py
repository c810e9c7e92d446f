"""In which calendar months a cycle of inspections meets the earth, and how long until it has met all it can.

Units: whole months; calendar months are numbered 1 to 12. Valid for cycles of at least 1 month. Source: arithmetic
modulo twelve (a cycle of N months returns to its first month after 12 / gcd(N, 12) turns); that the cycle is chosen
so that the seasons rotate is common practice, no published source.
"""

from collections.abc import Collection, Iterable
from math import gcd
from typing import NamedTuple

from inspections.rules.due_dates.calendar_arithmetic import MONTH_NAMES

MONTHS_OF_A_YEAR = 12
CYCLES_SHOWN = (7, 11, 12, 13, 14, 15)

YearMonth = tuple[int, int]
"""Year, and month 1 to 12."""


class Reach(NamedTuple):
    """What one cycle meets, counted from a month.

    months: the calendar months it ever meets, in the order it meets them, the starting one first
    new: those of them that had not been met before
    complete_in: months from the start until every month it can meet has been met; 0 where it has them all
    complete_by: the year and month of that; None without a starting month
    """

    cycle: int
    months: tuple[int, ...]
    new: tuple[int, ...]
    complete_in: int
    complete_by: YearMonth | None


def months_met(cycle: int) -> int:
    """How many calendar months a cycle ever meets. Raises: ValueError below 1 month

    >>> months_met(11), months_met(14), months_met(12)
    (12, 6, 1)
    """
    return MONTHS_OF_A_YEAR // gcd(_cycle(cycle), MONTHS_OF_A_YEAR)


def months_to_meet_them_all(cycle: int) -> int:
    """Months from the first inspection to the last of those that meet a month for the first time.

    Raises: ValueError below 1 month
    >>> months_to_meet_them_all(11), months_to_meet_them_all(15)
    (121, 45)
    """
    return cycle * (months_met(cycle) - 1)


def reach(
    cycle: int, last: YearMonth | None, seen: Collection[int] = (), *, coming: YearMonth | None = None
) -> Reach:
    """What a cycle meets from the month of the last measurement on.

    last: its year and month; None where nothing was measured: then counted from `coming`
    seen: calendar months met before; what was seen need not be met again
    coming: year and month of the measurement to come; without it counted from January, without a year
    Raises: ValueError below 1 month
    """
    start = last or coming or (1, 1)
    turns = [_after(start, cycle * turn) for turn in range(months_met(cycle))]
    months = tuple(month for _, month in turns)
    met = {*seen, *((months[0],) if last else ())}
    open_turns = [turn for turn, month in enumerate(months) if month not in met]
    complete_in = cycle * max(open_turns, default=0)
    return Reach(
        cycle,
        months,
        tuple(months[turn] for turn in open_turns),
        complete_in,
        _after(start, complete_in) if last or coming else None,
    )


def strictest(months: Iterable[int | None]) -> int | None:
    """The shortest of the intervals that have a number of months; None where none has."""
    return min((each for each in months if each is not None), default=None)


def in_words(year_month: YearMonth) -> str:
    """Jan 2031."""
    return f"{MONTH_NAMES[year_month[1] - 1]} {year_month[0]}"


def _after(start: YearMonth, months: int) -> YearMonth:
    year, month = divmod(start[0] * 12 + start[1] - 1 + months, 12)
    return year, month + 1


def _cycle(cycle: int) -> int:
    if cycle < 1:
        raise ValueError(f"A cycle of {cycle} months is none. It lasts at least 1 month.")
    return cycle
