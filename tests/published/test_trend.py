"""Drift against textbook examples (trend_data.csv, trend_examples.csv) and scipy.

Which intercept: the median of y − slope · x, as Hollander, Wolfe and Chicken do. scipy's theilslopes takes
median y − slope · median x, and so differs; slope and interval are the same.
"""

import math
from datetime import date
from decimal import Decimal as D
from itertools import permutations

import pytest
from scipy import stats

from inspections.calculations.forecast import DatedValue, day_above_limit, since_last_repair
from inspections.calculations.trend import (
    drift,
    exact_p_two_sided,
    is_exact,
    kendall_p_two_sided,
    kendall_s,
    kendall_variance,
    median,
    orders_by_inversions,
    pairwise_slopes,
)
from tests.published.tables import table

DATA = table("trend_data")
EXAMPLES = table("trend_examples")


def series(name):
    rows = [row for row in DATA if row["set"] == name]
    return [D(row["x"]) for row in rows], [D(row["y"]) for row in rows]


def value(example, quantity):
    return next(
        row["value"]
        for row in EXAMPLES
        if row["example"].startswith(example) and row["quantity"].startswith(quantity)
    )


def test_it_lists_the_slopes_of_the_textbook():
    """Hollander, Wolfe and Chicken, Example 9.1 (computed). Tolerance: half the fifth decimal."""
    found = pairwise_slopes(*series("HWC 9.1"))
    printed = series("HWC 9.1 sorted slopes")[1]
    assert [float(slope) for slope in found] == pytest.approx([float(slope) for slope in printed], abs=5.1e-6)


def test_it_gives_the_textbooks_slope_intercept_and_interval():
    """Hollander, Wolfe and Chicken, Example 9.1: −0.05625, 1.31625; interval −0.15 to 0.04 (scipy). Exact."""
    found = drift(*series("HWC 9.1"))
    assert found.slope == D(value("HWC Example 9.1", "slope"))
    assert found.intercept == D(value("HWC Example 9.1", "intercept"))
    assert (found.lower, found.upper) == (D("-0.15"), D("0.04"))
    assert value("HWC Example 9.1", "95 %") == "-0.15 to 0.04"


@pytest.mark.parametrize(
    ("name", "s", "p"), [("HWC 9.1", -6, 0.2333), ("HWC 8.1", 16, 0.1194)]
)  # fmt: skip
def test_it_tests_exactly_as_the_textbook_does(name, s, p):
    """Examples 9.1 and 8.1 (tau 0.4444 of 36 pairs is S = 16), exact two-sided p, to its fourth decimal; and scipy."""
    x, y = series(name)
    assert kendall_s(x, y) == s and is_exact(x, y)
    assert kendall_p_two_sided(s, x, y) == pytest.approx(p, abs=5.1e-5)
    other = stats.kendalltau([float(v) for v in x], [float(v) for v in y], method="exact").pvalue
    assert kendall_p_two_sided(s, x, y) == pytest.approx(other, rel=1e-12)


def test_it_agrees_with_the_epas_small_sample():
    """EPA QA/G-9 (from memory): S = 6, one-sided p = 0.117; half of our two-sided one."""
    x, y = series("EPA G-9 small")
    assert kendall_s(x, y) == 6
    assert exact_p_two_sided(5, 6) / 2 == pytest.approx(0.117, abs=5.1e-4)


def test_it_is_not_moved_by_one_outlier():
    """Helsel and Hirsch (from memory): slope 1.0, intercept 0, tau 0.905 of 21 pairs, p 0.00278."""
    x, y = series("USGS robust")
    found = drift(x, y)
    assert (found.slope, found.intercept, found.kendall_s) == (1, 0, 19)
    assert found.p_two_sided == pytest.approx(0.00278, abs=5.1e-6)


NILE = [
    1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140,
    1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969,
    831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759,
    781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890,
    744, 749, 838, 1050, 918, 986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
]  # fmt: skip


def test_it_handles_ties_over_a_hundred_years_of_the_nile():
    """R's dataset Nile (data from memory): S −1387, variance 112728.33, z −4.1281, slope −2.6 (computed)."""
    x, y = [D(year) for year in range(1871, 1971)], [D(flow) for flow in NILE]
    s = kendall_s(x, y)
    assert s == -1387
    assert kendall_variance(x, y) == pytest.approx(112728.33, abs=0.006)
    z = (abs(s) - 1) / math.sqrt(kendall_variance(x, y))
    assert z == pytest.approx(4.1281, abs=5.1e-5)
    assert drift(x, y).slope == D("-2.6")
    assert kendall_p_two_sided(s, x, y) == pytest.approx(2 * stats.norm.sf(z), rel=1e-12)


def critical(n, two_sided):
    """The smallest S of n values that is significant, or none."""
    pairs = n * (n - 1) // 2
    return next(
        (s for s in range(pairs % 2, pairs + 1, 2) if exact_p_two_sided(n, s) <= two_sided + 1e-12), None
    )


@pytest.mark.parametrize("n", range(4, 11))
def test_it_has_the_critical_values_of_the_exact_distribution(n):
    """Smallest significant S (computed): one-sided 90 %, two-sided 90, 95, 99 %."""
    one = value(f"smallest significant Mann-Kendall S, n = {n}", "one-sided")
    two = value(f"smallest significant Mann-Kendall S, n = {n}", "two-sided").split(" / ")
    assert critical(n, 0.2) == int(one)
    assert [critical(n, level) for level in (0.1, 0.05, 0.01)] == [None if s == "-" else int(s) for s in two]


@pytest.mark.parametrize("n", [1, 2, 3, 4, 5, 6])
def test_it_counts_the_orders_one_by_one(n):
    """All n! orders, counted."""
    counts = [0] * (n * (n - 1) // 2 + 1)
    for order in permutations(range(n)):
        counts[sum(order[i] > order[j] for i in range(n) for j in range(i + 1, n))] += 1
    assert orders_by_inversions(n) == tuple(counts)


def test_it_takes_the_middle():
    """Definition; and scipy's own middle of an even number."""
    assert median([D(3), D(1), D(2)]) == 2
    assert median([D(1), D(2), D(4), D(3)]) == D("2.5")


# ------------------------------------------------------------------ the day a limit is passed


def test_it_meets_the_limit_where_the_textbooks_line_does():
    """Helsel and Hirsch's line y = x (from memory), days 1 to 7, meets a limit of 10 on day 10: above on day 11."""
    x, y = series("USGS robust")
    readings = [DatedValue(date(2027, 1, int(day)), ohm) for day, ohm in zip(x, y, strict=True)]
    found = day_above_limit(readings, D(10))
    assert found.on == date(2027, 1, 11)
    low, high = stats.theilslopes([float(v) for v in y], [float(v) for v in x], 0.95)[2:]
    assert (float(found.drift.lower), float(found.drift.upper)) == pytest.approx((low, high), rel=1e-12)
    assert found.earliest < found.on <= found.latest  # whole days: the band may end on the day itself


def test_it_begins_anew_at_a_repair():
    """A repair starts a new series (common practice); the day itself counts as after it."""
    days = [DatedValue(date(2020 + n, 5, 1), D(n + 1)) for n in range(6)]
    assert since_last_repair(days, [date(2023, 5, 1), date(2021, 1, 1)]) == days[3:]
