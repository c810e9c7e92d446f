"""What the readings of one point say over time: like for like, split at repairs, never a day where a month is known.

An earth is compared with the same season of earlier years, since soil is never corrected; a metal with all like
readings.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from inspections.calculations import forecast as ahead
from inspections.calculations import trend as calculation
from inspections.calculations.forecast import DatedValue, Forecast
from inspections.calculations.trend import Drift
from inspections.models import Event, EventKind, LimitRule, Rebase, Verdict
from inspections.rules.judging.facts import SOIL
from sites.models import TestPoint

DAYS_A_YEAR = Decimal("365.25")
WINDOW_MONTHS = 1


@dataclass(frozen=True, slots=True)
class Split:
    """A day on which a new series begins, and what began it: repair, or new baseline."""

    on: date
    why: str


@dataclass(frozen=True, slots=True)
class Like:
    """One like reading: its local day, its corrected value [ohm], and its verdict."""

    on: date
    value_ohm: Decimal
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Trend:
    """The like readings of a point and what they come to.

    like: by the method of the last reading and at its reference temperature, oldest first; season: those of like
    seasons, of an earth only; used: what the drift is of; drift: per day [ohm/day], or None with the reason in
    no_drift; forecast: or None with the reason in no_forecast, both empty where no limit applies
    """

    method: str
    earth: bool
    like: list[Like]
    season: list[Like]
    used: list[Like]
    splits: list[Split]
    drift: Drift | None = None
    no_drift: str = ""
    forecast: Forecast | None = None
    no_forecast: str = ""
    limit: LimitRule | None = field(default=None)

    @property
    def last(self) -> Like:
        return self.like[-1]

    @property
    def per_year(self) -> tuple[Decimal, Decimal, Decimal] | None:
        """Slope, lower and upper end of its interval [ohm/year]."""
        found = self.drift
        if found is None:
            return None
        return found.slope * DAYS_A_YEAR, found.lower * DAYS_A_YEAR, found.upper * DAYS_A_YEAR

    @property
    def same_season_before(self) -> list[Like]:
        """Like readings of the same season in earlier years, the latest first."""
        return [row for row in reversed(self.season) if row.on.year < self.last.on.year]


def splits_of(point: TestPoint, zone: ZoneInfo) -> list[Split]:
    """Repairs of the structure and moved baselines of the point, oldest first."""
    of_structure = Event.objects.standing().filter(structure=point.structure_id)
    repairs = of_structure.filter(kind=EventKind.REPAIR).values_list("on", flat=True)
    moved = Rebase.objects.filter(point=point).values_list("reading__at", flat=True)
    found = [Split(on, "repair") for on in repairs]
    found += [Split(at.astimezone(zone).date(), "new baseline") for at in moved]
    return sorted(set(found), key=lambda split: (split.on, split.why))


def trend_of(
    rows: Sequence[Verdict], point: TestPoint, rule: LimitRule | None, zone: ZoneInfo, splits: Sequence[Split]
) -> Trend | None:
    """The trend behind the last reading with a value; None where no reading has one.

    rows: verdicts with their readings and limits, oldest first
    """
    valued = [row for row in rows if row.corrected_ohm is not None]
    if not valued:
        return None
    last = valued[-1]
    like = [_like(row, zone) for row in valued if _basis(row) == _basis(last)]
    earth = point.quantity in SOIL
    season = [row for row in like if in_season(row.on, like[-1].on)] if earth else []
    series = season if earth else like
    begun = max((split.on for split in splits if split.on <= like[-1].on), default=date.min)
    used = [row for row in series if row.on >= begun]
    drift, no_drift = _drift(used)
    applies = rule if rule is not None and rule.ohm_here is not None else None
    found, refusal = _forecast(used, applies, last)
    return Trend(
        last.reading.method, earth, like, season, used, list(splits), drift, no_drift, found, refusal, applies
    )


def _like(row: Verdict, zone: ZoneInfo) -> Like:
    assert row.corrected_ohm is not None  # noqa: S101 - the caller has looked
    return Like(row.reading.at.astimezone(zone).date(), row.corrected_ohm, row)


def _basis(row: Verdict) -> tuple[str, Decimal | None]:
    """What makes two corrected values comparable: the method, and the temperature they hold at."""
    return row.reading.method, row.limit.reference_temperature_c if row.limit else None


def in_season(day: date, other: date) -> bool:
    """Whether two days lie in the same season of any two years: at most one month of the year apart.

    >>> in_season(date(2024, 12, 5), date(2026, 1, 30)), in_season(date(2024, 5, 1), date(2026, 7, 1))
    (True, False)
    """
    apart = abs(day.month - other.month)
    return min(apart, 12 - apart) <= WINDOW_MONTHS


def _drift(used: Sequence[Like]) -> tuple[Drift | None, str]:
    days = [Decimal((row.on - used[0].on).days) for row in used]
    try:
        return calculation.drift(days, [row.value_ohm for row in used]), ""
    except ValueError as refusal:
        return None, str(refusal)


def _forecast(used: Sequence[Like], rule: LimitRule | None, last: Verdict) -> tuple[Forecast | None, str]:
    if rule is None or rule.ohm_here is None:
        return None, ""
    if rule.reference_temperature_c != _basis(last)[1]:
        return None, "The limit in force holds at another temperature than these readings were corrected to."
    try:
        return ahead.day_above_limit([DatedValue(row.on, row.value_ohm) for row in used], rule.ohm_here), ""
    except ValueError as refusal:
        return None, str(refusal)


def line_at(trend: Trend, slope: Decimal, days: Decimal) -> Decimal:
    """The line of a slope [ohm/day] so many days after the first reading used [ohm]: through the median intercept."""
    first = trend.used[0].on
    rest = [row.value_ohm - slope * (row.on - first).days for row in trend.used]
    return calculation.median(rest) + slope * days


def month(day: date | datetime) -> str:
    """A month as people say it: Aug 2027."""
    return f"{day:%b %Y}"
