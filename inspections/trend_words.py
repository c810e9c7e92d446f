"""A point's trend in sentences: the drift with its interval and significance, and about when the limit is passed."""

from datetime import date
from decimal import Context, Decimal

from inspections.calculations import units
from inspections.calculations.forecast import EXPECTED, NO_RISE, PASSED, Forecast
from inspections.calculations.printing import NBSP, plain
from inspections.calculations.trend import Drift, is_exact
from inspections.point_trend import DAYS_A_YEAR, Trend, month

CERTAIN = 0.05
# A month is named up to so many times as far ahead as the readings reach back.
IN_SIGHT = 3
NINETY_FIVE = 0.95
# So many digits of a value are handed to the calculator.
DIGITS = Context(prec=10)


def facts(trend: Trend, unit: str) -> list[tuple[str, str]]:
    """What the page lists, by name. unit: of resistance"""
    said = [("Compared", _compared(trend))]
    if trend.drift is None:
        said.append(("Drift", f"Not told. {trend.no_drift}"))
    else:
        said.append(("Drift", _drift(trend, unit)))
        said.append(("Significance", _significance(trend.drift, exact=_is_exact(trend))))
    if trend.no_forecast:
        said.append(("Limit exceeded", f"No month is given. {trend.no_forecast}"))
    elif trend.forecast is not None:
        said.append(("Limit exceeded", forecast(trend.forecast, trend.last.on)))
    return said


def _compared(trend: Trend) -> str:
    count = len(trend.used)
    readings = f"{count} reading{'' if count == 1 else 's'}"
    basis = trend.last.verdict.limit.reference_temperature_c if trend.last.verdict.limit else None
    if trend.earth:
        words = (
            f"{readings} by {trend.method}, of the same months of the year, as found: soil is never corrected"
        )
    else:
        at = "as found" if basis is None else f"at {plain(basis)}{NBSP}°C"
        words = f"{readings} by {trend.method}, {at}"
    passed = [split for split in trend.splits if split.on <= trend.last.on]
    if passed:
        words += f"; since the {passed[-1].why} in {month(passed[-1].on)}"
    return words


def _drift(trend: Trend, unit: str) -> str:
    factor = units.factor_to_si(unit, units.RESISTANCE)
    assert trend.per_year is not None and trend.drift is not None  # noqa: S101 - the caller has looked
    slope, lower, upper = (plain(part / factor, 3) for part in trend.per_year)
    sign = "+" if trend.per_year[0] > 0 else ""
    return f"{sign}{slope}{NBSP}{unit} a year (Theil-Sen); {_interval(trend.drift)} {lower} to {upper}"


def _interval(drift: Drift) -> str:
    if drift.coverage >= NINETY_FIVE:
        return f"95{NBSP}% interval"
    share = Decimal(f"{100 * drift.coverage:.3g}")
    return (
        f"interval of all its slopes, which holds {plain(share, 3)}{NBSP}% and no more with so few readings,"
    )


def inputs(trend: Trend, unit: str) -> dict[str, str]:
    """What the drift is of, as the calculator takes it: times in years from the first, values in the unit."""
    factor, first = units.factor_to_si(unit, units.RESISTANCE), trend.used[0].on
    years = (Decimal((row.on - first).days) / DAYS_A_YEAR for row in trend.used)
    values = (row.value_ohm / factor for row in trend.used)
    return {
        "times": "\n".join(f"{one:.6f}" for one in years),
        "values": "\n".join(format(DIGITS.plus(one), "f") for one in values),
    }


def _is_exact(trend: Trend) -> bool:
    return is_exact(
        [Decimal(row.on.toordinal()) for row in trend.used], [row.value_ohm for row in trend.used]
    )


def _significance(drift: Drift, *, exact: bool) -> str:
    shown = f"= {drift.p_two_sided:.2g}" if drift.p_two_sided >= 0.001 else "< 0.001"
    means = (
        "chance alone seldom does this"
        if drift.p_two_sided <= CERTAIN
        else "chance alone may do this: no drift is shown"
    )
    how = "exact" if exact else "normal approximation, corrected for ties"
    return f"Mann-Kendall S = {plain(Decimal(drift.kendall_s))}, two-sided p {shown} ({how}): {means}"


def forecast(found: Forecast, last: date) -> str:
    """About when the limit is passed; months, never days."""
    if found.state == PASSED:
        return "The line stands above the limit already."
    if found.state == NO_RISE:
        return "No month is given: it does not rise."
    if not in_sight(found):
        return (
            "Not in sight: at this drift it lies more than three times as far ahead as the readings reach back. No"
            " month is given."
        )
    earliest = (
        "it may be above already" if _now(found.earliest, last) else f"not before {_month(found.earliest)}"
    )
    if found.state == EXPECTED and found.on is not None and found.latest is not None:
        words = f"about {month(found.on)}, {_closed_band(found, found.latest, last)}"
    else:
        about = f"about {month(found.on)}" if found.on is not None else "never by the line itself"
        words = f"{about}, {earliest}, with no latest month: the drift may as well be none"
    words = f"{words[:1].upper()}{words[1:]}, if it goes on as it did."
    if found.beyond_record:
        words += " That lies further ahead than the readings reach back: a hint, not a date."
    return words


def _closed_band(found: Forecast, latest: date, last: date) -> str:
    if _now(found.earliest, last):
        return f"it may be above already, and is by {month(latest)}"
    if _month(found.earliest) == month(latest):
        return "both ends of the interval in that month"
    return f"between {_month(found.earliest)} and {month(latest)}"


def in_sight(found: Forecast) -> bool:
    """Whether the line meets the limit near enough to name a month; where it never does, its band may."""
    first, last = found.used[0].on, found.used[-1].on
    day = found.on or found.earliest
    return day is not None and (day - last).days <= IN_SIGHT * (last - first).days


def _now(day: date | None, last: date) -> bool:
    return day is not None and day <= last


def _month(day: date | None) -> str:
    return "the year 10000" if day is None else month(day)


def short(found: Forecast) -> str:
    """For the picture: about Aug 2027; empty where no month is given."""
    return f"about {month(found.on)}" if found.on is not None and in_sight(found) else ""
