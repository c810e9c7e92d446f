"""A point's trend: like for like, split at repairs and new baselines, a month only where it can be told."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from inspections import point_trend, trend_words
from inspections.actions import baseline
from inspections.models import EventKind, LimitRule, Reading, Verdict
from inspections.point_trend import Trend
from sites.models import Quantity
from tests import factories as f

pytestmark = pytest.mark.django_db
LONDON = ZoneInfo("Europe/London")
START = f.datetime(2021, 5, 3, 9, 0, tzinfo=f.UTC)


class Point:
    """A point with readings whose corrected values are given as they are."""

    def __init__(self, **more: Any) -> None:
        self.point = f.TestPointFactory(**more)
        self.visit = f.VisitFactory(structure=self.point.structure)
        self.rule = f.LimitRuleFactory(firm=self.visit.firm, limit_ohm=Decimal("0.006"))

    def read(self, mohm: str, days: int, rule: LimitRule | None = None, **more: Any) -> Reading:
        row = f.ReadingFactory(
            visit=self.visit, point=self.point, at=START + timedelta(days=days), text=mohm, **more
        )
        f.VerdictFactory(reading=row, limit=rule or self.rule, corrected_ohm=Decimal(mohm) / 1000)
        return row

    def trend(self, rule: LimitRule | None = None) -> Trend | None:
        rows = Verdict.objects.filter(reading__point=self.point).select_related("reading", "limit")
        splits = point_trend.splits_of(self.point, LONDON)
        return point_trend.trend_of(
            sorted(rows, key=lambda row: row.reading.at), self.point, rule or self.rule, LONDON, splits
        )


def yearly(*values: str, **more: Any) -> Point:
    point = Point(**more)
    for year, value in enumerate(values):
        point.read(value, 365 * year)
    return point


def told(point: Point, unit: str = "mΩ") -> dict[str, str]:
    trend = point.trend()
    assert trend is not None
    return {name: words.replace("\u00a0", " ") for name, words in trend_words.facts(trend, unit)}


def test_the_drift_of_a_straight_rise_is_its_slope_and_p_the_exact_one() -> None:
    words = told(yearly("3.0", "3.4", "3.8", "4.2", "4.6", "5.0"))
    # Six rising values: S = 15 and 2/6! = 0.0028 two-sided (Kendall's exact distribution).
    assert words["Significance"] == (
        "Mann-Kendall S = 15, two-sided p = 0.0028 (exact): chance alone seldom does this"
    )
    assert words["Drift"] == "+0.400 mΩ a year (Theil-Sen); 95 % interval 0.400 to 0.400"
    assert words["Compared"] == "6 readings by four-wire, at 20 °C"


def test_where_two_readings_are_equal_p_is_told_as_the_approximation_it_is() -> None:
    words = told(yearly("2.0", "2.1", "2.2", "2.3", "2.3", "2.4"))
    # S = 14; variance (6·5·17 − 2·1·9) / 18 = 27.33; z = 13 / 5.228 = 2.487, two-sided p = 0.0129 (Kendall).
    assert words["Significance"] == (
        "Mann-Kendall S = 14, two-sided p = 0.013 (normal approximation, corrected for ties): "
        "chance alone seldom does this"
    )


def test_the_month_is_where_the_line_meets_the_limit() -> None:
    point = yearly("3.0", "3.4", "3.8", "4.2", "4.6", "5.0")
    trend = point.trend()
    assert trend is not None and trend.forecast is not None
    # 3.0 + 0.4 a year of 365 days reaches 6.0 after 7.5 × 365 = 2737.5 days; above it from the day after 2737.
    assert trend.forecast.on == START.date() + timedelta(days=2738)
    assert told(point)["Limit exceeded"] == (
        "About Oct 2028, both ends of the interval in that month, if it goes on as it did."
    )


def test_a_scattered_rise_has_an_open_band_and_says_that_chance_may_do_it() -> None:
    words = told(yearly("4.0", "5.2", "4.4", "5.0", "4.9"))
    assert "chance alone may do this: no drift is shown" in words["Significance"]
    assert "with no latest month: the drift may as well be none" in words["Limit exceeded"]
    assert "hint" in words["Limit exceeded"] or "not before" in words["Limit exceeded"]


def test_fewer_than_four_like_readings_give_no_month_and_say_why() -> None:
    words = told(yearly("3.0", "3.4", "3.8"))
    assert words["Limit exceeded"].startswith("No month is given. A date needs at least 4 like readings")
    assert "holds 66.7 % and no more" in words["Drift"]
    assert "Not told." in told(yearly("3.0", "3.4"))["Drift"]


def test_another_method_and_another_reference_temperature_are_not_like() -> None:
    point = yearly("3.0", "3.4", "3.8", "4.2")
    point.read("9.0", 200, method="two-wire")
    as_found = f.LimitRuleFactory(firm=point.visit.firm, reference_temperature_c=None)
    point.read("9.0", 300, rule=as_found)
    trend = point.trend()
    assert trend is not None and [str(row.value_ohm) for row in trend.like] == [
        "0.003",
        "0.0034",
        "0.0038",
        "0.0042",
    ]


def test_a_limit_at_another_temperature_gives_no_month() -> None:
    point = yearly("3.0", "3.4", "3.8", "4.2")
    trend = point.trend(f.LimitRuleFactory(firm=point.visit.firm, reference_temperature_c=None))
    assert trend is not None and "another temperature" in trend.no_forecast


def test_a_repair_begins_a_new_series() -> None:
    point = yearly("3.0", "3.4", "3.8", "4.2", "4.6", "5.0")
    f.EventFactory(
        structure=point.point.structure, kind=EventKind.REPAIR, on=START.date() + timedelta(days=365 * 2)
    )
    trend = point.trend()
    assert trend is not None
    # What was read on the day of the repair counts as after it.
    assert [str(row.value_ohm) for row in trend.used] == ["0.0038", "0.0042", "0.0046", "0.005"]
    assert told(point)["Compared"].endswith("; since the repair in May 2023")


def test_another_event_splits_nothing() -> None:
    point = yearly("3.0", "3.4", "3.8", "4.2")
    f.EventFactory(
        structure=point.point.structure, kind=EventKind.STRIKE, on=START.date() + timedelta(days=500)
    )
    trend = point.trend()
    assert trend is not None and len(trend.used) == 4 and trend.splits == []


def test_a_new_baseline_begins_a_new_series() -> None:
    point = yearly("3.0", "3.4", "3.8")
    third = Reading.objects.order_by("at").last()
    assert third is not None
    baseline.rebase(third, reason="new tape", by=f.PersonFactory(), at=START + timedelta(days=800))
    point.read("3.9", 365 * 3)
    trend = point.trend()
    assert trend is not None and [str(row.value_ohm) for row in trend.used] == ["0.0038", "0.0039"]
    assert [split.why for split in trend.splits] == ["new baseline"]


def test_an_earth_is_compared_with_the_same_season_and_never_corrected() -> None:
    point = Point(quantity=Quantity.EARTH)
    point.rule = f.LimitRuleFactory(
        firm=point.visit.firm, limit_ohm=Decimal(10), reference_temperature_c=None
    )
    for year in range(5):
        point.read(f"{4000 + 100 * year}", 365 * year)  # May
        point.read("9000", 365 * year + 200)  # November
    point.read("4500", 365 * 5)
    trend = point.trend()
    assert trend is not None and trend.earth
    assert {row.on.month for row in trend.used} == {5}
    assert [row.on.year for row in trend.same_season_before] == [2025, 2024, 2023, 2022, 2021]
    assert "soil is never corrected" in told(point, "Ω")["Compared"]


@pytest.mark.parametrize(
    ("day", "other", "same"),
    [
        (date(2024, 12, 5), date(2026, 1, 30), True),
        (date(2024, 4, 30), date(2026, 6, 1), False),
        (date(2024, 4, 1), date(2026, 5, 31), True),
        (date(2024, 1, 1), date(2026, 12, 31), True),
        (date(2024, 1, 1), date(2026, 7, 1), False),
    ],
)
def test_a_season_is_the_month_and_its_neighbours(day: date, other: date, same: bool) -> None:
    assert point_trend.in_season(day, other) is point_trend.in_season(other, day) is same


def test_a_slow_drift_names_no_month_of_a_far_century() -> None:
    assert told(yearly("3.00", "3.01", "3.02", "3.03", "3.04"))["Limit exceeded"].startswith("Not in sight")


def test_what_falls_gives_no_month_and_what_is_above_says_so() -> None:
    assert (
        told(yearly("5.0", "4.6", "4.2", "3.8"))["Limit exceeded"] == "No month is given: it does not rise."
    )
    assert (
        told(yearly("5.0", "5.6", "6.2", "6.8"))["Limit exceeded"]
        == "The line stands above the limit already."
    )


def test_no_reading_with_a_value_has_no_trend() -> None:
    point = Point()
    row = f.ReadingFactory(visit=point.visit, point=point.point, text="OL", value_ohm=None)
    f.VerdictFactory(reading=row, limit=point.rule, corrected_ohm=None)
    assert point.trend() is None
