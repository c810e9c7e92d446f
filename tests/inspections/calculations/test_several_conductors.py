"""Paths of several metals, plausible bounds and least sections, over their range and outside it."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.calculations import conductors
from inspections.calculations.conductors import (
    SeriesPart,
    conductor_ohm,
    floor_and_ceiling_ohm,
    section_shortfall_m2,
    series_factor,
    series_ohm,
)
from inspections.rules.judging import plausibility

COPPER = SeriesPart(D(1) / D(58) * D("1E-6"), D(10), D("50E-6"), D("0.00393"))
STEEL = SeriesPart(D("1.38E-7"), D(10), D("50E-6"), D("0.0045"))
UNKNOWN = SeriesPart(D("1.43E-7"), D(10), D("50E-6"))


@given(st.integers(-50, 150).map(D))
def test_it_is_the_sum_of_its_parts_at_every_temperature(temperature):
    alone = [
        conductor_ohm(
            p.resistivity_ohm_m,
            p.length_m,
            p.section_m2,
            alpha_per_k=p.alpha_per_k,
            temperature_c=temperature,
        )
        for p in (COPPER, STEEL)
    ]
    assert series_ohm([COPPER, STEEL], temperature) == sum(alone)


@given(st.integers(-50, 150).map(D))
def test_it_corrects_between_the_factors_of_its_metals(temperature):
    mixed, copper, steel = (
        series_factor(p, temperature, D(20)) for p in ([COPPER, STEEL], [COPPER], [STEEL])
    )
    slack = D("1E-24")
    assert min(copper, steel) - slack <= mixed <= max(copper, steel) + slack
    there_and_back = mixed * series_factor([COPPER, STEEL], D(20), temperature)
    assert abs(there_and_back - 1) < D("1E-25")


def test_it_needs_a_part_and_a_coefficient_away_from_20_degrees():
    with pytest.raises(ValueError, match="at least one part"):
        series_ohm([])
    assert series_ohm([UNKNOWN]) > 0
    with pytest.raises(ValueError, match="coefficient"):
        series_ohm([COPPER, UNKNOWN], D(21))


def test_it_has_the_bounds_that_the_verdict_asks_by():
    assert (conductors.FLOOR, conductors.CEILING) == (plausibility.FLOOR, plausibility.CEILING)
    assert floor_and_ceiling_ohm(D(10)) == (8, 20)
    with pytest.raises(ValueError, match="above zero"):
        floor_and_ceiling_ohm(D(0))


def test_it_falls_short_of_nothing_at_the_least_section_itself():
    assert section_shortfall_m2(D("50E-6"), D("50E-6")) == 0
    assert section_shortfall_m2(D("51E-6"), D("50E-6")) == 0
    for wrong in ((D(0), D(1)), (D(1), D(0))):
        with pytest.raises(ValueError, match="above zero"):
            section_shortfall_m2(*wrong)
