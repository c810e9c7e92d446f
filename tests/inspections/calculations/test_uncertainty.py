"""Uncertainty against scipy and hand computation."""

import math
from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inspections.calculations.uncertainty import (
    combine,
    effective_degrees,
    rectangular,
    resolution,
    root_sum_square,
    standard_deviation_of_mean,
    student_t_95,
)


@given(st.floats(0.2, 1e8))
def test_it_gives_students_t_as_scipy_does(degrees):
    """Tolerance 1e-8: scipy's own quantile is good to about 1e-12, ours is printed to ten digits."""
    assert float(student_t_95(D(degrees))) == pytest.approx(stats.t.ppf(0.975, degrees), rel=1e-8)


def test_it_tends_to_the_normal_factor_for_many_degrees():
    assert float(student_t_95(D(10) ** 12)) == pytest.approx(1.959963985, rel=1e-9)


def test_it_refuses_degrees_of_freedom_that_are_not_above_zero():
    for degrees in (D(0), D(-1)):
        with pytest.raises(ValueError, match="above zero"):
            student_t_95(degrees)
        with pytest.raises(ValueError, match="above zero"):
            effective_degrees(D(1), [(D(1), degrees)])


def test_it_divides_by_the_roots_of_three_and_twelve():
    assert float(rectangular(D(15))) == pytest.approx(15 / math.sqrt(3), rel=1e-15)
    assert float(resolution(D(1))) == pytest.approx(1 / math.sqrt(12), rel=1e-15)
    assert root_sum_square([D(3), D(4)]) == D(5)


def test_it_takes_the_standard_deviation_of_the_mean():
    """2, 4, 4, 6: s² = 8/3, of the mean 8/3/4 = 2/3."""
    found = standard_deviation_of_mean([D(2), D(4), D(4), D(6)])
    assert float(found) == pytest.approx(math.sqrt(2 / 3), rel=1e-15)
    with pytest.raises(ValueError, match="at least two"):
        standard_deviation_of_mean([D(1)])


def test_it_combines_with_k_2_where_nothing_scattered():
    found = combine([(D(3), None), (D(4), None)])
    assert (found.standard, found.degrees, found.factor, found.expanded) == (D(5), None, D(2), D(10))


def test_it_combines_with_t_at_the_effective_degrees():
    """u = 1 (4 degrees) and 2 (certain): ν = 5² · 4 / 1 = 100; t from scipy."""
    found = combine([(D(1), D(4)), (D(2), None)])
    assert float(found.degrees) == pytest.approx(100, rel=1e-12)
    assert float(found.expanded) == pytest.approx(stats.t.ppf(0.975, 100) * math.sqrt(5), rel=1e-9)


def test_it_refuses_nothing_and_less_than_nothing():
    for components in ([], [(D(-1), None)]):
        with pytest.raises(ValueError, match="standard uncertainty"):
            combine(components)
