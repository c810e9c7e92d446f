"""Reversal, three-step form and spread."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calculations.reversal import keeps_no_sign, reverse, reverse_three
from inspections.calculations.spread import exceeds_spread, mean, spread_percent

numbers = st.integers(-(10**6), 10**6).map(lambda n: D(n) / 100)


def test_it_takes_a_thermal_voltage_out_of_a_bond():
    """IR = 10 mV, E = 5 µV at 10 A: displays 1.0005 and −0.9995 mΩ, value 1.0000 mΩ, offset 0.0005 mΩ."""
    found = reverse(D("1.0005"), D("-0.9995"))
    assert found == (D("1.0000"), D("0.0005"))


@given(numbers, numbers, numbers)
def test_it_takes_an_evenly_drifting_offset_out_in_three_steps(value, offset, drift):
    found = reverse_three(value + offset, -value + offset + drift, value + offset + 2 * drift)
    assert found.value == value
    assert found.offset == offset + drift


@given(numbers, numbers)
def test_it_changes_sign_when_the_two_displays_swap(a, b):
    assert reverse(a, b).value == -reverse(b, a).value


def test_it_notices_a_display_that_keeps_no_sign():
    assert keeps_no_sign(D("0.82"), D("0.10")) and keeps_no_sign(D(-1), D(-1))
    assert not keeps_no_sign(D("0.82"), D("-0.46")) and not keeps_no_sign(D(0), D(1))


@pytest.mark.parametrize(
    ("values", "percent"),
    [(["57.5", "58.0", "59.0"], "1.4"), (["41", "48", "60"], "20.8"), (["5"], "0.0"), (["0", "0"], "0.0")],
)
def test_it_measures_spread_by_the_greatest_deviation_from_the_mean(values, percent):
    assert round(spread_percent([D(v) for v in values]), 1) == D(percent)


def test_it_has_no_spread_to_give_about_a_mean_of_zero():
    assert spread_percent([D(1), D(-1)]) is None
    assert exceeds_spread([D(1), D(-1)], D(1000))


def test_it_compares_a_spread_at_the_very_edge_exactly():
    """1, 1, 1.07 … the mean of three is no finite decimal, yet 0.95, 1.00, 1.05 is 5 % exactly."""
    assert not exceeds_spread([D("0.95"), D("1.00"), D("1.05")], D(5))
    assert exceeds_spread([D("0.95"), D("1.00"), D("1.050001")], D(5))


def test_it_has_no_mean_of_nothing():
    for measure in (mean, spread_percent):
        with pytest.raises(ValueError, match="nothing"):
            measure([])
