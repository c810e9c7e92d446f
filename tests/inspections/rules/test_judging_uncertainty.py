"""The budget against independent computations: binary floats, scipy, the uncertainties library."""

import math
from decimal import Decimal as D

import pytest
import uncertainties
from scipy import stats

from tests.inspections.rules.judging_example import judged, text_of


def test_it_makes_one_rectangular_half_width_of_percent_and_digits():
    """As found: a = 0.5 % · 5.00 + 2 · 0.01 = 0.045 mΩ; U = 2 √(a²/3 + 0.01²/12)."""
    verdict = judged(limit={"reference_temperature_c": None})
    expected = 2 * math.sqrt(0.045**2 / 3 + 0.01**2 / 12)
    assert float(verdict.uncertainty_ohm) * 1000 == pytest.approx(expected, rel=1e-12)
    assert verdict.lower_ohm == verdict.corrected_ohm - verdict.uncertainty_ohm
    assert verdict.upper_ohm == verdict.corrected_ohm + verdict.uncertainty_ohm


def test_it_agrees_with_the_uncertainties_library_on_a_corrected_value():
    reading = uncertainties.ufloat(5.00, math.hypot(0.045 / 3**0.5, 0.01 / 12**0.5))
    metal = uncertainties.ufloat(35, 1 / 3**0.5)
    second_opinion = reading / (1 + 0.00393 * (metal - 20))
    verdict = judged(reading={"temperature_c": D(35), "temperature_accuracy_k": D(1)})
    assert float(verdict.corrected_ohm) * 1000 == pytest.approx(second_opinion.n, rel=1e-12)
    assert float(verdict.uncertainty_ohm) * 1000 == pytest.approx(2 * second_opinion.s, rel=1e-9)


def test_it_carries_a_temperature_accuracy_even_at_the_reference_itself():
    known, rough = judged(), judged(reading={"temperature_accuracy_k": D(2)})
    expected = math.hypot(float(known.uncertainty_ohm), 2 * 0.005 * 0.00393 * 2 / 3**0.5)
    assert float(rough.uncertainty_ohm) == pytest.approx(expected, rel=1e-9)


def test_it_expands_by_students_t_where_repeats_scatter():
    """Welch-Satterthwaite with one component of n − 1 degrees of freedom; t from scipy."""
    displays = [5.00, 5.10, 5.02, 4.96]
    verdict = judged(reading={"repeats": ("5.10", "5.02", "4.96")}, limit={"reference_temperature_c": None})
    mean = sum(displays) / 4
    scatter = math.sqrt(sum((x - mean) ** 2 for x in displays) / 12)
    other = math.sqrt((0.005 * mean + 0.02) ** 2 / 3 + 0.01**2 / 12)
    standard = math.hypot(scatter, other)
    degrees = standard**4 / (scatter**4 / 3)
    expected = stats.t.ppf(0.975, degrees) * standard
    assert float(verdict.uncertainty_ohm) * 1000 == pytest.approx(expected, rel=1e-8)
    assert "degrees of freedom" in text_of(verdict, "uncertainty")


def test_it_keeps_k_2_where_repeats_do_not_scatter():
    once, thrice = judged(), judged(reading={"repeats": ("5.00", "5.00")})
    assert thrice.uncertainty_ohm == once.uncertainty_ohm


def test_it_takes_the_percentage_from_what_the_display_showed_not_from_the_nulled_value():
    verdict = judged(reading={"null_ohm": D("0.004")}, limit={"reference_temperature_c": None})
    assert verdict.value_ohm == D("0.00100")
    assert verdict.uncertainty_ohm == judged(limit={"reference_temperature_c": None}).uncertainty_ohm


def test_it_names_no_clause_that_was_not_seen():
    assert {line.source for line in judged().lines if line.step == "uncertainty"} == {
        "JCGM 100:2008 (GUM), rectangular",
        "JCGM 100:2008 (GUM), k = 2",
    }
