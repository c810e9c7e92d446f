"""Temperature: metals by their own coefficient, soil never, and nothing guessed."""

from decimal import Decimal as D

import pytest

from inspections.materials import material
from inspections.rules.judging import Material
from inspections.rules.judging.facts import CANNOT, INFORMATION, WITHIN
from tests.inspections.rules.judging_example import earth_judged, judged, text_of

UNKNOWN = {"temperature_c": None, "temperature_source": "not taken"}


def corrected(reading, **facts):
    return judged(reading=reading, **facts).corrected_ohm


def test_it_corrects_the_worked_example():
    """5.00 mΩ of copper at 35 °C: 5.00 / 1.05895 = 4.7217 mΩ; U 0.0534 mΩ (the case format's example)."""
    verdict = judged(reading={"temperature_c": D(35), "temperature_accuracy_k": D(1)})
    assert round(verdict.corrected_ohm, 7) == D("0.0047217")
    assert round(verdict.uncertainty_ohm, 7) == D("0.0000534")
    assert round(verdict.lower_ohm, 7) == D("0.0046683")
    assert round(verdict.upper_ohm, 7) == D("0.0047750")


@pytest.mark.parametrize(
    ("temperature", "expected"),
    [("30", 5 / 1.0393), ("20", 5.0), ("-5", 5 / (1 - 0.00393 * 25)), ("60", 5 / (1 + 0.00393 * 40))],
)
def test_it_corrects_copper_by_3_93_percent_for_ten_kelvin(temperature, expected):
    assert float(corrected({"temperature_c": D(temperature)})) * 1000 == pytest.approx(expected, rel=1e-12)


def test_it_never_doubles_a_metal_in_ten_kelvin():
    """The saying about doubling belongs to insulation; copper needs 254.5 K to double."""
    warm, cool = corrected({"temperature_c": D(30)}), corrected({"temperature_c": D(20)})
    assert round(cool / warm, 4) == D("1.0393")


def test_it_carries_a_coefficient_given_at_another_temperature():
    """α = 0.00427 at 0 °C: R20 = R35 · (1 + 0.00427 · 20) / (1 + 0.00427 · 35) = 0.944238 · 5.00."""
    metal = Material("copper by its 0 °C coefficient", D("0.00427"), D(0))
    expected = 5 * (1 + 0.00427 * 20) / (1 + 0.00427 * 35)
    found = corrected({"temperature_c": D(35)}, point={"material": metal})
    assert float(found) * 1000 == pytest.approx(expected, rel=1e-12)


def test_it_corrects_to_the_rules_own_reference():
    """To 25 °C from 35 °C: (1 + 0.00393 · 5) / (1 + 0.00393 · 15)."""
    found = corrected({"temperature_c": D(35)}, limit={"reference_temperature_c": D(25)})
    assert float(found) * 1000 == pytest.approx(5 * 1.01965 / 1.05895, rel=1e-12)


@pytest.mark.parametrize(
    ("temperature", "asks"), [("-20", False), ("60", False), ("-20.1", True), ("60.1", True), ("150", True)]
)
def test_it_asks_about_a_conductor_colder_or_hotter_than_one_mostly_is(temperature, asks):
    """70 on a display may be degrees Fahrenheit; the verdict is that of what was taken down."""
    for facts in ({}, {"limit": {"reference_temperature_c": None}}):
        verdict = judged(reading={"temperature_c": D(temperature)}, **facts)
        assert any("was it read so, in °C?" in question for question in verdict.questions) == asks
        assert verdict.outcome == WITHIN
    other = judged(reading={"temperature_c": D(temperature), "temperature_source": "not taken"})
    assert not any("was it read so" in question for question in other.questions)


def test_it_leaves_a_value_as_found_where_the_limit_holds_as_found():
    verdict = judged(reading={"temperature_c": D(35)}, limit={"reference_temperature_c": None})
    assert verdict.corrected_ohm == verdict.value_ohm == D("0.00500")


@pytest.mark.parametrize("quantity", ["earth", "earth-system"])
def test_it_never_corrects_soil(quantity):
    verdict = earth_judged(
        point={"quantity": quantity, "material": material("copper")},
        limit={"reference_temperature_c": D(20)},
        reading={"temperature_c": D(5), "temperature_source": "contact", "temperature_accuracy_k": D(1)},
    )
    assert verdict.corrected_ohm == verdict.value_ohm == D("57.5")
    assert "never corrected" in text_of(verdict, "temperature")


def test_it_judges_soil_without_a_temperature_whatever_the_rule_says():
    verdict = earth_judged(limit={"reference_temperature_c": D(20)})
    assert verdict.outcome == WITHIN


@pytest.mark.parametrize("metal", [None, material("steel"), Material("an alloy")])
def test_it_cannot_judge_without_a_coefficient_away_from_the_reference(metal):
    verdict = judged(point={"material": metal}, reading={"temperature_c": D(21)})
    assert verdict.outcome == CANNOT
    assert verdict.value_ohm == D("0.00500")
    assert verdict.corrected_ohm is None
    assert judged(point={"material": metal}, reading=UNKNOWN).outcome == CANNOT
    assert judged(point={"material": metal}, reading={"text": "OL", "temperature_c": D(21)}).outcome == CANNOT


def test_it_needs_no_coefficient_at_the_reference_itself():
    verdict = judged(point={"material": material("steel")}, reading={"temperature_c": D("20.0")})
    assert verdict.outcome == WITHIN
    assert verdict.corrected_ohm == D("0.00500")


def test_it_counts_an_unstated_accuracy_as_two_kelvin():
    two = judged(reading={"temperature_c": D(35), "temperature_accuracy_k": D(2)})
    unstated = judged(reading={"temperature_c": D(35), "temperature_accuracy_k": None})
    assert unstated.uncertainty_ohm == two.uncertainty_ohm
    assert unstated.uncertainty_ohm > judged(reading={"temperature_c": D(35)}).uncertainty_ohm


def test_it_takes_a_missing_temperature_as_anything_from_minus_20_to_60():
    """Rectangular ± 40 K about 20 °C: u = 5 · 0.00393 · 40 / √3 = 0.45378 mΩ beside accuracy and step."""
    verdict = judged(reading=UNKNOWN)
    accuracy = (0.005 * 5 + 0.02) / 3**0.5
    expected = 2 * (accuracy**2 + 0.01**2 / 12 + (5 * 0.00393 * 40) ** 2 / 3) ** 0.5
    assert verdict.corrected_ohm == D("0.00500")
    assert float(verdict.uncertainty_ohm) * 1000 == pytest.approx(expected, rel=1e-9)
    assert verdict.outcome == WITHIN


@pytest.mark.parametrize(
    ("limit", "outcome"),
    [
        ("0.0060", WITHIN),
        ("0.0055", CANNOT),
        ("0.0050", CANNOT),
        ("0.0045", CANNOT),
        ("0.0040", "above limit"),
    ],
)
def test_it_cannot_judge_where_a_missing_temperature_straddles_the_limit(limit, outcome):
    """5.00 mΩ may be 4.32 mΩ (from 60 °C) to 5.93 mΩ (from −20 °C) at 20 °C."""
    verdict = judged(reading=UNKNOWN, limit={"limit_ohm": D(limit)})
    assert verdict.outcome == outcome


def test_it_takes_a_null_temperature_as_not_taken_whatever_the_source_says():
    verdict = judged(
        reading={"temperature_c": None, "temperature_source": "air"}, limit={"limit_ohm": D("0.005")}
    )
    assert verdict.outcome == CANNOT
    ignored = judged(
        reading={"temperature_c": D(35), "temperature_source": "not taken"}, limit={"limit_ohm": D("0.005")}
    )
    assert ignored.outcome == CANNOT


def test_it_gives_no_straddle_without_a_limit():
    assert judged(reading=UNKNOWN, limit={"limit_ohm": None}).outcome == INFORMATION


def test_it_refuses_a_temperature_outside_the_linear_law():
    with pytest.raises(ValueError, match="outside"):
        judged(reading={"temperature_c": D(301)})
