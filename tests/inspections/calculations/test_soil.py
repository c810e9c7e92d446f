"""Soil over its range of validity and outside it."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.calculations.soil import image_sum, two_layer_apparent_ohm_m, wenner_resistivity_ohm_m
from inspections.calculations.soil_layers import fit_two_layers

resistivities = st.floats(0.1, 1e5)
lengths = st.floats(0.05, 200)


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
def test_it_refuses_what_no_soil_can_be(wrong):
    for place in range(2):
        with pytest.raises(ValueError, match="above zero"):
            wenner_resistivity_ohm_m(*[wrong if here == place else 1.0 for here in range(2)])
    for place in range(4):
        with pytest.raises(ValueError, match="above zero"):
            two_layer_apparent_ohm_m(*[wrong if here == place else 1.0 for here in range(4)])


@pytest.mark.parametrize("depth", [-0.01, 1.01, math.nan])
def test_it_refuses_pins_above_the_ground_or_deeper_than_they_are_apart(depth):
    with pytest.raises(ValueError, match="depth"):
        wenner_resistivity_ohm_m(1, 1, depth)


@given(lengths, st.floats(0.001, 1e5))
def test_it_takes_pins_of_no_depth_as_points(spacing, resistance):
    assert wenner_resistivity_ohm_m(spacing, resistance, 0) == pytest.approx(
        wenner_resistivity_ohm_m(spacing, resistance), rel=1e-12
    )


@given(lengths, st.floats(0, 1), st.floats(0, 1))
def test_it_rises_with_the_pins_depth_and_by_no_more_than_half_a_percent_up_to_a_twentieth(spacing, a, b):
    shallow, deep = sorted((a, b))
    low, high = (wenner_resistivity_ohm_m(spacing, 1, share * spacing) for share in (shallow, deep))
    assert low <= high * (1 + 1e-12)
    if deep <= 0.05:
        assert high <= 1.00437 * wenner_resistivity_ohm_m(spacing, 1)


@settings(max_examples=200, deadline=None)
@given(resistivities, resistivities, lengths, lengths)
def test_it_lies_between_both_layers(upper, lower, thickness, spacing):
    found = two_layer_apparent_ohm_m(upper, lower, thickness, spacing)
    slack = 1e-9 * max(upper, lower)
    assert min(upper, lower) - slack <= found <= max(upper, lower) + slack


@settings(max_examples=100, deadline=None)
@given(resistivities, resistivities, lengths, lengths, st.floats(0.01, 100))
def test_it_scales_with_both_resistivities_and_with_every_length(upper, lower, thickness, spacing, times):
    found = two_layer_apparent_ohm_m(upper, lower, thickness, spacing)
    more = two_layer_apparent_ohm_m(times * upper, times * lower, thickness, spacing)
    wider = two_layer_apparent_ohm_m(upper, lower, times * thickness, times * spacing)
    tolerance = {"rel": 1e-8, "abs": 1e-10 * max(upper, lower)}
    assert more == pytest.approx(times * found, rel=1e-8, abs=1e-10 * times * max(upper, lower))
    assert wider == pytest.approx(found, **tolerance)


def test_it_shows_one_soil_where_both_layers_are_alike_or_far_apart_in_scale():
    assert two_layer_apparent_ohm_m(80, 80, 2, 5) == 80
    assert two_layer_apparent_ohm_m(80, 500, 1000, 1) == pytest.approx(80, rel=1e-6)
    assert two_layer_apparent_ohm_m(80, 500, 0.1, 1000) == pytest.approx(500, rel=1e-4)


def test_it_refuses_a_spacing_beyond_ten_thousand_thicknesses():
    assert two_layer_apparent_ohm_m(100, 300, 0.001, 10) == pytest.approx(300, rel=1e-3)
    with pytest.raises(ValueError, match="10 000 times"):
        two_layer_apparent_ohm_m(100, 300, 0.001, 10.1)
    for k, share in ((1.0, 1.0), (-1.0, 1.0), (0.5, 1e-5)):
        with pytest.raises(ValueError, match="must"):
            image_sum(k, share)


# ------------------------------------------------------------------ the fit

SPACINGS = [1.0, 2.0, 4.0, 8.0, 16.0]


def test_it_gives_the_same_layers_every_time_and_in_any_order():
    measured = [
        two_layer_apparent_ohm_m(120, 40, 2.5, a) * (1 + 0.02 * (-1) ** n) for n, a in enumerate(SPACINGS)
    ]
    once = fit_two_layers(SPACINGS, measured)
    assert once == fit_two_layers(SPACINGS, measured)
    turned = fit_two_layers(SPACINGS[::-1], measured[::-1])
    assert turned[:3] == pytest.approx(once[:3], rel=1e-6)
    assert turned.residual_percents == pytest.approx(once.residual_percents[::-1], abs=1e-5)


@settings(max_examples=25, deadline=None)
@given(st.floats(20, 2000), st.floats(0.05, 0.5) | st.floats(2, 20), st.floats(1, 5))
def test_it_finds_any_two_layers_that_the_spacings_show(upper, ratio, thickness):
    measured = [two_layer_apparent_ohm_m(upper, upper * ratio, thickness, a) for a in [0.5, *SPACINGS, 32.0]]
    found = fit_two_layers([0.5, *SPACINGS, 32.0], measured)
    assert found[:3] == pytest.approx((upper, upper * ratio, thickness), rel=1e-3)


@pytest.mark.parametrize(
    ("spacings", "measured", "words"),
    [
        ([1, 2, 3], [100, 90, 80], "four different"),
        ([1, 2, 2, 3], [100, 90, 90, 80], "four different"),
        ([1, 2, 3, 4], [100, 90, 80], "one apparent resistivity for each"),
        ([1, 2, 3, 4], [100, 90, 80, 0], "above zero"),
        ([1, 2, 3, -4], [100, 90, 80, 70], "above zero"),
        ([1, 2, 4, 8], [100, 101, 100, 102], "one layer"),
    ],
)
def test_it_refuses_a_series_that_cannot_show_two_layers(spacings, measured, words):
    with pytest.raises(ValueError, match=words):
        fit_two_layers(spacings, measured)


def test_it_refuses_a_boundary_that_lies_outside_the_spacings():
    """A boundary twice as deep as the widest spacing barely shows; a fit would be a guess."""
    measured = [two_layer_apparent_ohm_m(100, 1e4, 30, a) for a in SPACINGS]
    assert max(measured) / min(measured) > 1.05
    with pytest.raises(ValueError, match="outside them"):
        fit_two_layers(SPACINGS, measured)
