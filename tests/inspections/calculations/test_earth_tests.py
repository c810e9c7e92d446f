"""Earth tests over their range of validity and outside it."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calculations.earth_tests import (
    loop_ohm,
    plateau,
    potential_probe_m,
    slope_coefficient,
    slope_place,
    suggests_metal_loop,
    three_points,
)

ohms = st.decimals("0.01", "1000", places=2)


def test_it_places_no_probe_without_a_distance():
    with pytest.raises(ValueError, match="above zero"):
        potential_probe_m(0)


@given(st.floats(0.40, 1.59), st.floats(0.40, 1.59))
def test_it_moves_the_probe_inwards_as_the_slope_grows(a, b):
    gentle, steep = (slope_place(mu) for mu in sorted((a, b)))
    assert 0.34 < steep.ratio <= gentle.ratio < 0.65
    assert -0.067 < gentle.offset <= steep.offset < 0.73


@pytest.mark.parametrize("mu", [0.3999, 1.5901, 0.0, -1.0, float("nan"), float("inf")])
def test_it_refuses_a_slope_outside_the_tables(mu):
    with pytest.raises(ValueError, match="further out"):
        slope_place(mu)


def test_it_takes_both_ends_of_the_tables():
    assert round(slope_place(0.40).ratio, 4) == 0.6433
    assert round(slope_place(1.59).ratio, 4) == 0.3405


@pytest.mark.parametrize("readings", [(10, 10, 12), (10, 12, 12), (12, 11, 13), (10, 13, 12)])
def test_it_takes_no_slope_from_readings_that_do_not_rise(readings):
    with pytest.raises(ValueError, match="rise"):
        slope_coefficient(*map(D, readings))


def test_it_accepts_the_allowed_spread_itself():
    assert plateau([D(95), D(100), D(105)], D(5)).flat
    assert not plateau([D("94.9"), D(100), D("105.1")], D(5)).flat


def test_it_shows_no_plateau_by_two_places_or_below_zero():
    with pytest.raises(ValueError, match="three places"):
        plateau([D(1), D(1)])
    with pytest.raises(ValueError, match="below zero"):
        plateau([D(1), D(-1), D(1)])


@given(ohms, ohms, ohms)
def test_it_finds_three_electrodes_again(first, second, third):
    found = three_points(first + second, first + third, second + third)
    assert found.resistances_ohm == (first, second, third)
    assert found.ill_conditioned == (max(found.amplifications) > 5)
    assert min(found.amplifications) >= 1


@pytest.mark.parametrize("readings", [(10, 10, 20), (10, 10, 25), (0, 10, 10), (-1, 10, 10)])
def test_it_refuses_readings_that_do_not_belong_together(readings):
    with pytest.raises(ValueError, match="do not belong together"):
        three_points(*map(D, readings))


@given(ohms, st.lists(ohms, min_size=1, max_size=6))
def test_it_reads_a_loop_above_the_electrode_itself(electrode, others):
    assert electrode < loop_ohm(electrode, others) <= electrode + min(others)


def test_it_reads_no_loop_without_another_earth():
    for electrode, others in ((D(1), []), (D(0), [D(1)]), (D(1), [D(0)])):
        with pytest.raises(ValueError, match=r"no loop|above zero"):
            loop_ohm(electrode, others)
    with pytest.raises(ValueError, match="below zero"):
        suggests_metal_loop(D(-1))
