"""One point's readings as the trend picture has them."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from inspections import charts, trend_words
from inspections.calculations.forecast import FEWEST_LIKE_READINGS
from inspections.calculations.printing import resistance_unit
from inspections.drift_drawing import Band
from inspections.models import LimitRule, NoReading, Verdict
from inspections.point_trend import Split, Trend, line_at
from inspections.tables import figures
from sites.models import TestPoint

# How far ahead of the last reading the drift is drawn, as a share of what was used.
SHORTEST, LONGEST = Decimal("0.25"), Decimal("1.5")


def drawing(
    point: TestPoint, rows: Sequence[Verdict], reasons: Sequence[NoReading], rule: LimitRule | None,
    zone: ZoneInfo, *, baselines: dict[int, str], splits: Iterable[Split] = (), trend: Trend | None = None,
) -> charts.Drawing:  # fmt: skip
    """rows: verdicts with their readings, reasons: both oldest first; baselines: by reading, the chart's word for it"""
    unit = unit_of(rows, rule)
    has_limit = rule is not None and rule.ohm_here is not None
    return charts.Drawing(
        title=f"Point {point.number}, resistance over time",
        unit=unit,
        limit=_in(rule.ohm_here, unit) if rule and has_limit else None,
        limit_words=" ".join(figures.in_unit(rule.ohm_here, rule.limit_unit))
        if rule and rule.ohm_here is not None
        else "",
        readings=[_plotted(row, unit, zone, baselines.get(row.pk, "")) for row in rows],
        not_read=[charts.NotRead(row.at.astimezone(zone), row.reason) for row in reasons],
        splits=[(_at(split.on, zone), split.why) for split in splits],
        band=_band(trend, unit, zone) if trend else None,
    )


def unit_of(rows: Sequence[Verdict], rule: LimitRule | None) -> str:
    """The limit's own unit, else the one that suits the last value."""
    if rule is not None and rule.ohm_here is not None:
        return figures.in_unit(rule.ohm_here, rule.limit_unit)[1]
    values = [row.corrected_ohm for row in rows if row.corrected_ohm is not None]
    return resistance_unit(values[-1]) if values else "Ω"


def _in(ohm: Any, unit: str) -> float:
    return float(figures.in_unit(ohm, unit)[0].replace("−", "-"))


def _at(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone)


def _plotted(row: Verdict, unit: str, zone: ZoneInfo, baseline: str) -> charts.Plotted:
    reading = row.reading
    value = None if row.corrected_ohm is None else _in(row.corrected_ohm, unit)
    words = reading.text
    if row.corrected_ohm is not None:
        shown = figures.in_unit(row.corrected_ohm, reading.unit, figures.decimals_of(reading))
        words = shown[0] if shown[1] == unit else " ".join(shown)
    return charts.Plotted(
        at=reading.at.astimezone(zone),
        value=value,
        uncertainty=None if row.uncertainty_ohm is None else _in(row.uncertainty_ohm, unit),
        method=reading.method,
        outcome=row.outcome,
        words=words,
        baseline=baseline,
    )


def _band(trend: Trend, unit: str, zone: ZoneInfo) -> Band | None:
    """The three lines of the drift, from the first reading used to a little beyond what the forecast says."""
    if trend.drift is None or len(trend.used) < FEWEST_LIKE_READINGS:
        return None
    first, last = trend.used[0].on, trend.used[-1].on
    span = (last - first).days
    end = last + timedelta(days=_ahead(trend, span))

    def ends(slope: Decimal) -> tuple[float, float]:
        days = Decimal((end - first).days)
        return _in(line_at(trend, slope, Decimal(0)), unit), _in(line_at(trend, slope, days), unit)

    found = trend.forecast if trend.forecast and trend_words.in_sight(trend.forecast) else None
    shown = {
        name: _at(day, zone)
        for name in ("on", "earliest", "latest")
        if found is not None and (day := getattr(found, name)) is not None and last < day <= end
    }
    return Band(
        _at(first, zone), _at(end, zone), ends(trend.drift.slope), ends(trend.drift.lower), ends(trend.drift.upper),
        crossing=shown.get("on"), earliest=shown.get("earliest"), latest=shown.get("latest"),
        words=trend_words.short(found) if found is not None and "on" in shown else "",
    )  # fmt: skip


def _ahead(trend: Trend, span: int) -> int:
    """Days drawn beyond the last reading: to the end of the forecast's band, within bounds."""
    found, last = trend.forecast, trend.used[-1].on
    days = [0]
    if found is not None and trend_words.in_sight(found):
        days = [(day - last).days for day in (found.on, found.latest) if day is not None]
    wanted = max(days, default=0) * Decimal("1.05")
    return int(min(max(wanted, SHORTEST * span), LONGEST * span))
