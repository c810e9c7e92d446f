"""The linear law of metals, over its validity and outside it."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calculations.temperature import alpha_at_per_k, correct_resistance_ohm, correction

COPPER = D("0.00393")
TWENTY = D(20)


def test_it_moves_copper_by_3_93_percent_for_ten_kelvin_and_never_doubles_it():
    warm = correct_resistance_ohm(
        D(1), alpha_per_k=COPPER, alpha_at_c=TWENTY, temperature_c=TWENTY, reference_c=D(30)
    )
    assert warm == D("1.0393")


def test_it_takes_254_5_kelvin_to_double_copper():
    """1/0.00393 = 254.45 K above 20 °C; cable standards round to 254.5."""
    factor = correction(COPPER, TWENTY, TWENTY, D("274.5")).factor
    assert float(factor) == pytest.approx(2, abs=0.001)


def test_it_is_exactly_one_at_the_reference_itself():
    assert correction(COPPER, TWENTY, D("20.0"), TWENTY).factor == 1


@given(st.integers(-100, 300), st.integers(-100, 300), st.integers(1, 10**6))
def test_it_comes_back_after_there_and_back_again(t, reference, micro_ohm):
    there = correct_resistance_ohm(
        D(micro_ohm), alpha_per_k=COPPER, alpha_at_c=TWENTY, temperature_c=D(t), reference_c=D(reference)
    )
    back = correct_resistance_ohm(
        there, alpha_per_k=COPPER, alpha_at_c=TWENTY, temperature_c=D(reference), reference_c=D(t)
    )
    assert abs(back - micro_ohm) <= D(micro_ohm) * D("1e-25")


@given(st.integers(-50, 150), st.integers(-50, 150))
def test_it_gives_the_same_factor_by_a_coefficient_carried_elsewhere(at, t):
    carried = alpha_at_per_k(COPPER, TWENTY, D(at))
    direct = correction(COPPER, TWENTY, D(t), TWENTY).factor
    assert abs(correction(carried, D(at), D(t), TWENTY).factor - direct) < D("1e-24")


@pytest.mark.parametrize("temperature", ["-100.1", "300.1"])
def test_it_refuses_what_lies_outside_the_law(temperature):
    with pytest.raises(ValueError, match="outside"):
        correction(COPPER, TWENTY, D(temperature), TWENTY)
    with pytest.raises(ValueError, match="outside"):
        alpha_at_per_k(COPPER, D(temperature), TWENTY)


def test_it_refuses_a_coefficient_that_leaves_no_resistance():
    with pytest.raises(ValueError, match="no resistance"):
        correction(D("0.05"), TWENTY, D(0), TWENTY)
