"""Conformity over its range of validity and outside it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inspections.calculations.conformity import conformity_probability, global_risks, normal_below

values = st.floats(-100, 100)
widths = st.floats(0.01, 50)


@given(values, widths, values, widths)
def test_it_agrees_with_scipy_on_either_side_and_both(value, u, lower, width):
    upper = lower + width
    assert conformity_probability(value, u, upper=upper) == pytest.approx(
        stats.norm.cdf(upper, value, u), abs=1e-14
    )
    assert conformity_probability(value, u, lower=lower) == pytest.approx(
        stats.norm.sf(lower, value, u), abs=1e-14
    )
    both = conformity_probability(value, u, lower=lower, upper=upper)
    assert both == pytest.approx(stats.norm.cdf(upper, value, u) - stats.norm.cdf(lower, value, u), abs=1e-13)
    assert 0 <= both <= 1


def test_it_keeps_its_digits_far_outside_a_tolerance():
    """Both limits thirty widths away on one side: the difference of two tails, not of two ones."""
    found = conformity_probability(30, 1, lower=-1, upper=0)
    assert found == pytest.approx(stats.norm.cdf(-30), rel=1e-9)
    assert conformity_probability(-30, 1, lower=0, upper=1) == pytest.approx(stats.norm.cdf(-30), rel=1e-9)


def test_it_is_a_half_at_the_limit_itself():
    assert conformity_probability(5, 0.3, upper=5) == 0.5
    assert conformity_probability(5, 0.3, lower=5) == 0.5


@given(values, values, st.floats(0.01, 10))
def test_it_never_grows_as_a_value_nears_its_upper_limit(a, b, u):
    low, high = sorted((a, b))
    assert conformity_probability(high, u, upper=3) <= conformity_probability(low, u, upper=3)


@pytest.mark.parametrize(
    ("given_", "words"),
    [
        ({"upper": None}, "upper limit, a lower limit"),
        ({"upper": 1, "lower": 1}, "below the upper"),
        ({"upper": 1, "lower": 2}, "below the upper"),
        ({"upper": 1, "u": 0.0}, "above zero"),
        ({"upper": 1, "u": -1.0}, "above zero"),
        ({"upper": 1, "u": math.nan}, "above zero"),
        ({"upper": 1, "value": math.nan}, "above zero"),
    ],
)
def test_it_refuses_what_has_no_probability(given_, words):
    with pytest.raises(ValueError, match=words):
        conformity_probability(
            given_.get("value", 0.0),
            given_.get("u", 1.0),
            lower=given_.get("lower"),
            upper=given_.get("upper"),
        )


def test_it_trades_the_consumers_risk_for_the_producers():
    risks = [global_risks(0, 1, 0.3, -2, 2, band) for band in (-0.3, 0.0, 0.3, 0.6)]
    assert [risk.consumer for risk in risks] == sorted((risk.consumer for risk in risks), reverse=True)
    assert [risk.producer for risk in risks] == sorted(risk.producer for risk in risks)


def test_it_accepts_and_rejects_nothing_wrongly_with_a_sure_measurement():
    assert global_risks(0, 1, 1e-6, -2, 2) == pytest.approx((0, 0), abs=1e-6)


@pytest.mark.parametrize(
    "given_", [(0, 0, 1, -1, 1), (0, 1, 0, -1, 1), (0, 1, 1, 1, -1), (0, 1, 1, -1, 1, 1.0)], ids=str
)
def test_it_refuses_risks_of_what_cannot_be(given_):
    with pytest.raises(ValueError, match=r"above zero|below the upper|nothing that could be accepted"):
        global_risks(*given_)


def test_it_has_half_of_the_distribution_below_the_middle():
    assert normal_below(0) == 0.5
