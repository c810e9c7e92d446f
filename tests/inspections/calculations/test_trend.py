"""Drift and its date: second opinions by scipy, what must hold for every series, what is refused."""

from datetime import date, timedelta
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inspections.calculations.forecast import (
    EXPECTED,
    NO_RISE,
    PASSED,
    POSSIBLE,
    DatedValue,
    day_above_limit,
)
from inspections.calculations.trend import (
    drift,
    exact_p_two_sided,
    kendall_p_two_sided,
    kendall_s,
    kendall_variance,
    median,
    orders_by_inversions,
)

tenths = st.integers(-200, 200).map(lambda n: D(n) / 10)
distinct = st.lists(tenths, min_size=3, max_size=10, unique=True)
tied = st.lists(st.integers(0, 4).map(D), min_size=3, max_size=25)


def counted(values):
    return [D(n) for n in range(len(values))]


def as_floats(values):
    return [float(value) for value in values]


@settings(deadline=None)
@given(distinct | tied)
def test_it_has_the_slope_and_interval_of_scipy(values):
    """scipy.stats.theilslopes; its interval of three or four values is the same widest one. Tolerance 1e-12."""
    found, other = (
        drift(counted(values), values),
        stats.theilslopes(as_floats(values), as_floats(counted(values))),
    )
    assert float(found.slope) == pytest.approx(other.slope, rel=1e-12, abs=1e-12)
    assert as_floats((found.lower, found.upper)) == pytest.approx(
        [other.low_slope, other.high_slope], rel=1e-12, abs=1e-12
    )


@settings(deadline=None)
@given(distinct)
def test_it_is_as_significant_as_scipy_says_exactly(values):
    found = drift(counted(values), values)
    other = stats.kendalltau(as_floats(counted(values)), as_floats(values), method="exact").pvalue
    assert found.p_two_sided == pytest.approx(other, rel=1e-12)


@settings(deadline=None)
@given(st.lists(tenths, min_size=11, max_size=40, unique=True))
def test_it_is_as_significant_as_the_normal_distribution_says_beyond_ten(values):
    """Without ties the variance is n(n − 1)(2n + 5)/18; continuity of one. By scipy's normal tail."""
    n, found = len(values), drift(counted(values), values)
    z = max(0, abs(found.kendall_s) - 1) / (n * (n - 1) * (2 * n + 5) / 18) ** 0.5
    assert found.p_two_sided == pytest.approx(min(1.0, 2 * stats.norm.sf(z)), rel=1e-9)


@given(tied)
def test_it_loses_variance_to_ties_and_is_never_below_zero(values):
    n = len(values)
    found = kendall_variance(counted(values), values)
    assert 0 <= found <= n * (n - 1) * (2 * n + 5) / 18
    assert kendall_variance(values, values) >= -1e-9


@given(distinct | tied, st.integers(1, 50), st.integers(-50, 50))
def test_it_follows_a_change_of_units(values, times, shift):
    plain = drift(counted(values), values)
    scaled = drift([t + 1000 for t in counted(values)], [times * v + shift for v in values])
    assert scaled.slope == times * plain.slope or abs(scaled.slope - times * plain.slope) < D("1E-20")
    assert (scaled.kendall_s, scaled.p_two_sided) == (plain.kendall_s, plain.p_two_sided)


@given(distinct | tied)
def test_it_turns_with_its_values_and_holds_its_slope_inside(values):
    found = drift(counted(values), values)
    turned = drift(counted(values), [-v for v in values])
    assert turned.slope == -found.slope
    assert turned.kendall_s == -found.kendall_s
    assert found.lower <= found.slope <= found.upper
    assert 0 < found.p_two_sided <= 1


def test_it_does_not_mind_the_order_the_values_are_given_in():
    times, values = [D(3), D(1), D(2), D(5)], [D(4), D(1), D(3), D(2)]
    pairs = sorted(zip(times, values, strict=True))
    assert drift(times, values) == drift([x for x, _ in pairs], [y for _, y in pairs])


@pytest.mark.parametrize(("n", "coverage"), [(3, 2 / 3), (4, 11 / 12), (5, 0.95), (10, 0.95)])
def test_it_says_how_little_three_or_four_values_can_hold(n, coverage):
    """All n! orders: 2/3! of three and 2/4! of four values lie outside their own slopes."""
    values = [D(k * k) for k in range(n)]
    found = drift(counted(values), values)
    assert found.coverage == pytest.approx(coverage, rel=1e-12)
    if n < 5:
        assert (found.lower, found.upper) == (D(1), D(2 * n - 3))


def test_it_has_no_drift_where_nothing_moves():
    found = drift(counted([D(5)] * 6), [D(5)] * 6)
    assert (found.slope, found.lower, found.upper, found.intercept) == (0, 0, 0, 5)
    assert (found.kendall_s, found.p_two_sided) == (0, 1.0)


def test_it_survives_ties_of_times_and_of_values_together():
    times, values = [D(0)] * 9 + [D(1)], [D(1)] * 9 + [D(2)]
    found = drift(times, values)
    assert found.slope == 1
    assert 0 < found.p_two_sided <= 1


@pytest.mark.parametrize(
    ("times", "values", "words"),
    [
        ([1, 2, 3], [1, 2], "one value for each"),
        ([1, 2], [1, 2], "3 to 2000"),
        ([], [], "3 to 2000"),
        (range(2001), range(2001), "3 to 2000"),
        ([7, 7, 7], [1, 2, 3], "one time"),
    ],
)
def test_it_refuses_what_is_no_series(times, values, words):
    with pytest.raises(ValueError, match=words):
        drift([D(t) for t in times], [D(v) for v in values])


def test_it_keeps_the_exact_distribution_for_ten_values_and_no_more():
    assert sum(orders_by_inversions(10)) == 3628800
    for n in (0, 11):
        with pytest.raises(ValueError, match="1 to 10"):
            exact_p_two_sided(n, 1)
    with pytest.raises(ValueError, match="nothing"):
        median([])


def test_it_uses_the_exact_test_only_without_ties():
    free, tie = [D(n) for n in (1, 2, 4, 3, 5)], [D(n) for n in (1, 2, 3, 3, 5)]
    assert kendall_p_two_sided(8, counted(free), free) == exact_p_two_sided(5, 8)
    assert kendall_p_two_sided(kendall_s(counted(tie), tie), counted(tie), tie) != exact_p_two_sided(5, 9)


# ------------------------------------------------------------------ the day above the limit

START = date(2020, 6, 1)


def yearly(*values):
    return [DatedValue(date(2020 + n, 6, 1), D(str(value))) for n, value in enumerate(values)]


def test_it_dates_a_steady_rise_and_gives_its_band():
    found = day_above_limit(yearly(1, "2.1", "2.9", 4, "5.1"), D(10))
    assert found.state == EXPECTED
    assert found.earliest < found.on < found.latest
    assert date(2028, 1, 1) < found.on < date(2030, 1, 1)
    assert found.coverage == 0.95


def test_it_stands_above_on_the_day_after_the_line_meets_the_limit():
    days = [DatedValue(START + timedelta(days=n), D(n)) for n in range(5)]
    assert day_above_limit(days, D(10)).on == START + timedelta(days=11)
    assert day_above_limit(days, D("10.5")).on == START + timedelta(days=11)


def test_it_leaves_the_band_open_where_the_drift_may_as_well_be_none():
    found = day_above_limit(yearly(1, 3, 2, "1.5", "2.6"), D(10))
    assert found.state == POSSIBLE
    assert found.latest is None
    assert found.earliest is not None


def test_it_gives_no_day_to_what_does_not_rise():
    found = day_above_limit(yearly(5, 4, 3, 2, 1), D(10))
    assert (found.state, found.on, found.earliest, found.latest) == (NO_RISE, None, None, None)
    assert day_above_limit(yearly(2, 2, 2, 2), D(10)).state == NO_RISE


def test_it_says_where_the_limit_is_passed_already():
    found = day_above_limit(yearly(8, 9, 10, 11, 12), D("11.5"))
    assert (found.state, found.on) == (PASSED, None)


def test_it_does_not_count_the_limit_itself_as_above():
    days = [DatedValue(START + timedelta(days=n), D(8 + n)) for n in range(5)]
    found = day_above_limit(days, D(12))
    assert (found.state, found.on) == (EXPECTED, days[-1].on + timedelta(days=1))


def test_it_refuses_fewer_than_four_like_readings():
    for readings in ([], yearly(1, 2, 3)):
        with pytest.raises(ValueError, match="at least 4 like readings"):
            day_above_limit(readings, D(10))
    assert day_above_limit(yearly(1, 2, 3, 4), D(10)).coverage == pytest.approx(11 / 12)


def test_it_counts_several_readings_of_one_day_once():
    same_day = [DatedValue(START, D(n)) for n in (1, 2, 3)]
    with pytest.raises(ValueError, match="there are 2"):
        day_above_limit([*same_day, DatedValue(date(2021, 6, 1), D(3))], D(10))


def test_it_starts_again_at_the_last_repair():
    rise = yearly(1, 3, 5, 7, 1, 2, 3, 4)
    whole, after = day_above_limit(rise, D(10)), day_above_limit(rise, D(10), repairs=[date(2024, 6, 1)])
    assert [reading.value_ohm for reading in after.used] == [1, 2, 3, 4]
    assert len(whole.used) == 8
    with pytest.raises(ValueError, match="there are 3"):
        day_above_limit(rise, D(10), repairs=[date(2022, 1, 1), date(2024, 6, 2)])


def test_it_says_when_it_looks_further_ahead_than_the_record_reaches_back():
    assert not day_above_limit(yearly(1, 2, 3, 4, 5), D(8)).beyond_record
    assert day_above_limit(yearly(1, 2, 3, 4, 5), D(20)).beyond_record


def test_it_has_no_day_beyond_the_calendar():
    found = day_above_limit(yearly("1.00", "1.00001", "1.00002", "1.00003"), D(1000))
    assert (found.state, found.on, found.beyond_record) == (EXPECTED, None, True)


def test_it_refuses_a_limit_that_is_none():
    with pytest.raises(ValueError, match="above zero"):
        day_above_limit(yearly(1, 2, 3, 4), D(0))


@settings(deadline=None)
@given(st.lists(st.integers(-40, 40), min_size=4, max_size=12), st.integers(1, 30), st.integers(100, 900))
def test_it_never_gives_a_day_outside_its_own_band(noise, rise, limit):
    """Beyond the last reading a steeper line stands higher, so the band's ends enclose the day."""
    days = [DatedValue(START + timedelta(days=30 * n), D(60 + rise * n + e)) for n, e in enumerate(noise)]
    found = day_above_limit(days, D(limit))
    if found.on is not None:
        assert found.on > days[-1].on
        assert found.earliest is not None and found.earliest <= found.on
        assert found.latest is None or found.on <= found.latest
    assert (found.state == POSSIBLE) <= (found.latest is None)
    assert (found.state in (PASSED, NO_RISE)) <= (found.on is None and found.earliest is None)
