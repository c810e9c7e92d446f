"""Correlated uncertainty: what must hold for every table of correlations, and what is refused."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calculations.uncertainty import (
    combine_correlated,
    correlation,
    covariance,
    from_expanded,
    operating_standard_ohm,
    rectangular,
    root_sum_square,
    triangular,
)

parts = st.integers(-1000, 1000).map(lambda n: D(n) / 100)
ONE, ZERO = D(1), D(0)


def table(size, r):
    return [[ONE if i == j else r for j in range(size)] for i in range(size)]


@given(st.lists(parts, min_size=1, max_size=6))
def test_it_is_the_root_sum_square_without_correlation_and_the_sum_with_all_of_it(contributions):
    size = len(contributions)
    assert combine_correlated(contributions, table(size, ZERO)) == root_sum_square(contributions)
    full = combine_correlated(contributions, table(size, ONE))
    assert full == abs(sum(contributions))


@given(parts, parts, st.integers(-100, 100).map(lambda n: D(n) / 100))
def test_it_lies_between_difference_and_sum(a, b, r):
    found = combine_correlated([a, b], table(2, r))
    slack = D("1E-12")
    assert abs(abs(a) - abs(b)) - slack <= found <= abs(a) + abs(b) + slack
    assert covariance([a, b], [b, a], table(2, r)) == covariance([b, a], [a, b], table(2, r))


@given(st.lists(st.tuples(parts, parts), min_size=2, max_size=8))
def test_it_correlates_no_more_than_fully(pairs):
    first, second = zip(*pairs, strict=True)
    if len(set(first)) < 2 or len(set(second)) < 2:
        with pytest.raises(ValueError, match="did not vary"):
            correlation(first, second)
        return
    assert abs(correlation(first, second)) <= 1 + D("1E-24")
    assert correlation(first, first) == pytest.approx(ONE, rel=D("1E-24"))


@pytest.mark.parametrize(
    "wrong",
    [
        [], [[ONE]], [[ONE, ZERO]], [[ONE, D("0.1")], [D("0.2"), ONE]], [[ONE, D(2)], [D(2), ONE]],
        [[D("0.5"), ZERO], [ZERO, ONE]],
    ],
    ids=["none", "too small", "one row", "not the same both ways", "above one", "not one with itself"],
)  # fmt: skip
def test_it_refuses_a_table_that_holds_no_correlations(wrong):
    with pytest.raises(ValueError, match=r"correlations|Correlations"):
        covariance([ONE, ONE], [ONE, ONE], wrong)


def test_it_refuses_correlations_that_cannot_hold_together():
    """Three quantities cannot all run against each other."""
    with pytest.raises(ValueError, match="cannot hold together"):
        combine_correlated([ONE, ONE, ONE], table(3, -ONE))


def test_it_refuses_bounds_below_zero():
    for refuse in (
        lambda: triangular(D(-1)),
        lambda: from_expanded(D(-1), D(2)),
        lambda: from_expanded(D(1), D(0)),
        lambda: operating_standard_ohm(D(1), D(-1)),
        lambda: correlation([ONE], [ONE]),
        lambda: correlation([ONE, ZERO], [ONE]),
    ):
        with pytest.raises(ValueError, match=r"below zero|two pairs"):
            refuse()


@given(parts, st.integers(0, 60).map(D))
def test_it_takes_an_operating_uncertainty_of_any_class_as_a_bound(reading, percent):
    found = operating_standard_ohm(reading, percent)
    assert found == rectangular(abs(reading) * percent / 100)
    assert found >= 0
