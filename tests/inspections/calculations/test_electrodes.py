"""Electrodes over their range of validity and outside it."""

import math
from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calculations.electrodes import plate_ohm, ring_ohm, rod_ohm, strip_ohm, strip_short_form_ohm
from inspections.calculations.rods_together import (
    hollow_square_of_rods,
    interaction_factor,
    line_of_rods,
    mutual_rods_ohm,
    parallel_ohm,
    rods_apart_ohm,
    rods_close_ohm,
    single_limit_ohm,
    whole_against_parts,
)

resistivities = st.floats(0.1, 1e5)
EVERY = [(rod_ohm, (100, 3, 0.016)), (plate_ohm, (100, 1)), (strip_ohm, (100, 20, 0.01, 0.6)),
         (strip_short_form_ohm, (100, 20, 0.01, 0.6)), (ring_ohm, (100, 20, 0.01, 0.6)),
         (mutual_rods_ohm, (100, 3, 3))]  # fmt: skip


@pytest.mark.parametrize(("formula", "given"), EVERY, ids=lambda value: getattr(value, "__name__", ""))
@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
def test_it_refuses_what_is_not_above_zero(formula, given, wrong):
    for place in range(len(given)):
        with pytest.raises(ValueError, match="above zero"):
            formula(*[wrong if here == place else value for here, value in enumerate(given)])


@pytest.mark.parametrize(("formula", "given"), EVERY, ids=lambda value: getattr(value, "__name__", ""))
def test_it_is_proportional_to_the_resistivity_and_inverse_to_the_scale(formula, given):
    power = 2 if formula is plate_ohm else 1
    scaled = [given[0], *(value * 7**power for value in given[1:])]
    assert formula(given[0] * 3, *given[1:]) == pytest.approx(3 * formula(*given), rel=1e-12)
    assert formula(*scaled) == pytest.approx(formula(*given) / 7, rel=1e-12)


@given(st.floats(0.5, 50), st.floats(0, 1))
def test_it_falls_with_a_longer_rod(length, share):
    diameter = 0.005 + share * (length / 10 - 0.005)
    assert 0 < rod_ohm(100, length * 1.1, diameter) < rod_ohm(100, length, diameter)


@given(st.floats(2, 300), st.floats(0.03, 0.24), st.floats(0.002, 0.02))
def test_it_falls_with_depth_and_with_length(length, share, diameter):
    depth = share * length
    found = strip_ohm(100, length, diameter, depth)
    assert 0 < strip_ohm(100, length, diameter, depth * 1.04) < found
    assert 0 < strip_ohm(100, length * 1.1, diameter, depth) < found
    assert 0 < strip_short_form_ohm(100, length, diameter, depth) < found
    assert 0 < ring_ohm(100, length, diameter, depth * 1.04) < ring_ohm(100, length, diameter, depth)


def test_it_holds_up_to_the_very_edge_of_its_validity_and_no_further():
    assert rod_ohm(100, 1, 0.1) > 0
    with pytest.raises(ValueError, match="ten times"):
        rod_ohm(100, 1, 0.1001)
    for level in (strip_ohm, strip_short_form_ohm, ring_ohm):
        assert level(100, 8, 0.01, 2) > 0
        with pytest.raises(ValueError, match="quarter"):
            level(100, 8, 0.01, 2.001)
        assert level(100, 8, 0.5, 0.5) > 0
        with pytest.raises(ValueError, match="buried"):
            level(100, 8, 0.5, 0.499)
        with pytest.raises(ValueError, match="ten conductor diameters"):
            level(100, 8, 0.801, 0.9)


# ------------------------------------------------------------------ together

ohms = st.decimals("0.001", "100000", places=3)


@given(st.lists(ohms, min_size=1, max_size=8))
def test_it_is_below_the_least_and_above_an_nth_of_it(parts):
    found = parallel_ohm(parts)
    slack = D("1E-24")
    assert min(parts) / len(parts) <= found * (1 + slack)
    assert found <= min(parts) * (1 + slack)
    assert parallel_ohm(parts[::-1]) == pytest.approx(found, rel=D("1E-26"))


def test_it_is_exact_for_one_and_for_two():
    assert parallel_ohm([D("0.3")]) == D("0.3")
    assert parallel_ohm([D(3), D("1.5")]) == 1


@pytest.mark.parametrize("parts", [[], [D(1), D(0)], [D(-1)]])
def test_it_joins_nothing_that_is_no_resistance(parts):
    with pytest.raises(ValueError, match=r"above zero|at least one"):
        parallel_ohm(parts)


def test_it_compares_a_whole_only_with_real_values():
    for whole, allowed in ((D(0), D(30)), (D(-1), D(30)), (D(1), D(-1))):
        with pytest.raises(ValueError, match="zero"):
            whole_against_parts(whole, [D(1)], allowed)
    for limit, number, times in ((D(0), 2, D(1)), (D(10), 0, D(1)), (D(10), 2, D(0))):
        with pytest.raises(ValueError, match="above zero"):
            single_limit_ohm(limit, number, times)


def test_it_needs_two_rods_in_two_places():
    for places in ([], [(0, 0)], [(0, 0), (1, 1), (0, 0)]):
        with pytest.raises(ValueError, match=r"two or more|same place"):
            interaction_factor(places, 1)
    for lay_out in (line_of_rods, hollow_square_of_rods):
        with pytest.raises(ValueError, match="two rods or more"):
            lay_out(1, 1.0)
        with pytest.raises(ValueError, match="above zero"):
            lay_out(3, 0.0)
    assert len(hollow_square_of_rods(5, 1.0)) == 16


def test_it_takes_rods_as_points_only_from_their_own_length_apart():
    assert rods_apart_ohm(100, 3, 0.016, line_of_rods(4, 3.0)) > 0
    with pytest.raises(ValueError, match="no closer"):
        rods_apart_ohm(100, 3, 0.016, line_of_rods(4, 2.99))
    assert rods_close_ohm(100, 3, 0.016, line_of_rods(4, 0.16)) > 0
    with pytest.raises(ValueError, match="ten diameters apart"):
        rods_close_ohm(100, 3, 0.016, line_of_rods(4, 0.159))


@given(st.integers(2, 12), st.floats(1.0, 20))
def test_it_lies_between_a_single_rod_and_plain_parallel(number, lengths_apart):
    single = rod_ohm(100, 3, 0.016)
    places = line_of_rods(number, 3 * lengths_apart)
    for together in (rods_apart_ohm, rods_close_ohm):
        assert single / number < together(100, 3, 0.016, places) < single
    assert rods_close_ohm(100, 3, 0.016, places) <= rods_apart_ohm(100, 3, 0.016, places)


@given(st.floats(1e-3, 1e5))
def test_it_lifts_a_neighbour_the_less_the_further_away_and_like_a_point_far_off(spacing):
    near, far = mutual_rods_ohm(100, 3, spacing), mutual_rods_ohm(100, 3, spacing * 1.5)
    assert near > far > 0
    if spacing > 100:
        assert near == pytest.approx(100 / (2 * math.pi * spacing), rel=1e-3)
