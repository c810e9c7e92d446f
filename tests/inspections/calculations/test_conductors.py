"""Resistance from length, section and metal, and the gauge law."""

from decimal import Decimal as D

import pytest

from inspections.calculations.conductors import (
    conductor_ohm,
    gauge_diameter_m,
    gauge_number,
    gauge_section_m2,
)

COPPER = D(1) / D(58) * D("1E-6")


def test_it_gives_a_copper_tape_of_25_by_3_mm_as_0_230_milliohm_a_metre():
    """1/58/75 Ω = 0.22989 mΩ; 60 m of it 13.79 mΩ."""
    assert float(conductor_ohm(COPPER, D(1), D("75E-6"))) == pytest.approx(1 / 58 / 75, rel=1e-12)
    assert float(conductor_ohm(COPPER, D(60), D("75E-6"))) == pytest.approx(0.013793, rel=1e-4)


def test_it_puts_a_conductor_at_its_own_temperature():
    cold = conductor_ohm(COPPER, D(1), D("75E-6"))
    hot = conductor_ohm(COPPER, D(1), D("75E-6"), alpha_per_k=D("0.00393"), temperature_c=D(70))
    assert round(hot / cold, 6) == D("1.1965")


@pytest.mark.parametrize("wrong", [(D(0), D(1)), (D(1), D(0)), (D(-1), D(1))])
def test_it_refuses_a_length_or_section_that_is_not_above_zero(wrong):
    with pytest.raises(ValueError, match="above zero"):
        conductor_ohm(COPPER, *wrong)


def test_it_refuses_another_temperature_without_a_coefficient():
    with pytest.raises(ValueError, match="coefficient"):
        conductor_ohm(COPPER, D(1), D(1), temperature_c=D(21))


@pytest.mark.parametrize(
    ("gauge", "number"), [("4/0", -3), ("1/0", 0), ("0", 0), ("00", -1), ("0000", -3), ("1", 1), ("36", 36)]
)
def test_it_numbers_gauges(gauge, number):
    assert gauge_number(gauge) == number


@pytest.mark.parametrize("gauge", ["5/0", "0/0", "-1", "57", "1.5", "", "4/1", "00000", "AWG 4"])
def test_it_refuses_what_is_no_gauge(gauge):
    with pytest.raises(ValueError, match="gauge"):
        gauge_number(gauge)


def test_it_follows_the_gauge_law_from_its_two_fixed_points():
    """By definition No. 36 is 0.005 inch and No. 4/0 is 0.46 inch."""
    assert gauge_diameter_m("36") == D("0.000127")
    assert round(gauge_diameter_m("4/0"), 9) == D("0.011684")
    assert float(gauge_section_m2("2/0")) * 1e6 == pytest.approx(67.43, abs=0.005)
