"""The day on which a drifting point will pass its limit, with a band that admits what is not known.

Days are civil dates. Slopes and crossings are exact Decimals.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import ROUND_FLOOR, Decimal
from typing import NamedTuple

from inspections.calculations.trend import Drift, drift, median

FEWEST_LIKE_READINGS = 4
NO_RISE = "not rising"
PASSED = "above the limit already"
EXPECTED = "expected"
POSSIBLE = "possible"


class DatedValue(NamedTuple):
    """A corrected value [ohm] and the day it was read."""

    on: date
    value_ohm: Decimal


class Forecast(NamedTuple):
    """When the limit will be passed.

    state: EXPECTED, POSSIBLE (the drift may as well be none: the band is open), PASSED (the line stands above the
    limit on the last day) or NO_RISE. on, earliest, latest: days; None where the line, or that end of the band,
    never gets there or not before the year 10000; an earliest day before the last reading means that the point may
    be above already. coverage: what the band's slopes hold (0.95, or less with four
    readings). used: the readings since the last repair, ascending. beyond_record: the day lies further ahead than
    the readings reach back. drift: per day [ohm/day], days counted from the first reading used.
    """

    state: str
    on: date | None
    earliest: date | None
    latest: date | None
    coverage: float
    beyond_record: bool
    used: tuple[DatedValue, ...]
    drift: Drift


def since_last_repair(readings: Iterable[DatedValue], repairs: Iterable[date]) -> list[DatedValue]:
    """The readings from the last repair on, ascending by day; values in ohm.

    repairs: days of repair or of a new baseline that have come; a reading on such a day counts as after it
    Valid for any readings. Source: a repair begins a new series (common practice)
    """
    last = max(repairs, default=None)
    return sorted(reading for reading in readings if last is None or reading.on >= last)


def day_above_limit(
    readings: Sequence[DatedValue], limit_ohm: Decimal, repairs: Sequence[date] = ()
) -> Forecast:
    """When a point's drift takes it above its limit.

    readings: corrected values of one point by one method [ohm], in like seasons where it is an earth, any order
    limit_ohm: [ohm]; repairs: days of repair or re-base: only what was read since the last one is used
    The day is where the Theil-Sen line meets the limit; the band where the lines of the slope's 95 % interval do,
    each through the median of y − slope · x. The limit itself is not above.
    Raises: ValueError for fewer than four readings since the last repair, on fewer than four days, or a limit not
        above zero
    Valid for a drift that goes on as it did. It is a question of when to look again, not a finding.
    Source: Theil-Sen as in `drift`; four as the least number is this product's rule
    """
    if limit_ohm <= 0:
        raise ValueError("The limit must be above zero.")
    used = since_last_repair(readings, repairs)
    if len({reading.on for reading in used}) < FEWEST_LIKE_READINGS:
        raise ValueError(
            f"A date needs at least {FEWEST_LIKE_READINGS} like readings on different days since the last repair;"
            f" there are {len({reading.on for reading in used})}."
        )
    first, last = used[0].on, used[-1].on
    times = [Decimal((reading.on - first).days) for reading in used]
    values = [reading.value_ohm for reading in used]
    found = drift(times, values)

    def crossing(slope: Decimal) -> date | None:
        middle = median([y - slope * x for x, y in zip(times, values, strict=True)])
        return _day(first, (limit_ohm - middle) / slope) if slope > 0 else None

    state = _state(found, found.intercept + found.slope * times[-1], limit_ohm)
    ahead = state in (EXPECTED, POSSIBLE)
    on = crossing(found.slope) if ahead else None
    earliest = crossing(found.upper) if ahead else None
    latest = crossing(found.lower) if ahead else None
    beyond = ahead and (on is None or on - last > last - first)
    return Forecast(state, on, earliest, latest, found.coverage, beyond, tuple(used), found)


def _state(found: Drift, now_ohm: Decimal, limit_ohm: Decimal) -> str:
    if now_ohm > limit_ohm:
        return PASSED
    if found.lower > 0:
        return EXPECTED
    return POSSIBLE if found.upper > 0 else NO_RISE


def _day(first: date, days: Decimal) -> date | None:
    """The first whole day on which the line stands above the limit; None beyond the calendar."""
    whole = int(days.to_integral_value(rounding=ROUND_FLOOR)) + 1
    if not date.min.toordinal() <= first.toordinal() + whole <= date.max.toordinal():
        return None
    return date.fromordinal(first.toordinal() + whole)
