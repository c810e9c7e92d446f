"""The verdict against published decision rules and worked figures."""

from decimal import Decimal as D

import pytest
from scipy import stats

from inspections.rules.judging.facts import ABOVE, CANNOT, WITHIN
from tests.inspections.rules.judging_example import earth_judged, judged

# As found, digits only: a = 0.1 mΩ, U = 2 √(0.1²/3 + 0.01²/12) = 0.1156 mΩ for every value.
TEN = {"reference_temperature_c": None, "limit_ohm": D("0.010")}
DIGITS = {"percent_of_reading": D(0), "digits": D(10)}


@pytest.mark.parametrize(
    ("text", "statement", "outcome"),
    [
        ("9.80", "pass", WITHIN),
        ("9.95", "conditional pass", CANNOT),
        ("10.05", "conditional fail", CANNOT),
        ("10.20", "fail", ABOVE),
    ],
)
def test_it_makes_the_non_binary_statement_of_ilac_g8(text, statement, outcome):
    """ILAC-G8:09/2019 4.2.3 (seen as reproduced): pass ≤ TL − w; conditional pass; conditional fail; fail > TL + w."""
    verdict = judged(limit=TEN | {"decision": "four-way"}, instrument=DIGITS, reading={"text": text})
    assert (verdict.statement, verdict.outcome) == (statement, outcome)


def test_it_accepts_wrongly_in_fewer_than_2_5_percent_with_the_guard_band_of_ilac_g8():
    """ILAC-G8:09/2019 4.2.2 (seen as reproduced): w = U, false acceptance < 2.5 %, for a normal distribution.

    The highest accepted value lies U = 2 u below the limit: 1 − Φ(2) = 2.275 %.
    """
    accepted = [
        text
        for text in (f"{n / 100:.2f}" for n in range(950, 1050))
        if judged(limit=TEN | {"decision": "guarded"}, instrument=DIGITS, reading={"text": text}).outcome
        == WITHIN
    ]
    highest = judged(limit=TEN, instrument=DIGITS, reading={"text": accepted[-1]})
    standard = float(highest.uncertainty_ohm) / 2
    assert stats.norm.sf((0.010 - float(highest.corrected_ohm)) / standard) < 0.025
    following = f"{D(accepted[-1]) + D('0.01'):.2f}"
    assert (
        judged(limit=TEN | {"decision": "guarded"}, instrument=DIGITS, reading={"text": following}).outcome
        == CANNOT
    )


def test_it_accepts_up_to_the_limit_itself_by_simple_acceptance():
    """ILAC-G8:09/2019 4.2.1 (seen as reproduced): w = 0, pass if the result is not above the tolerance limit."""
    assert judged(limit=TEN, instrument=DIGITS, reading={"text": "10.00"}).outcome == WITHIN
    assert judged(limit=TEN, instrument=DIGITS, reading={"text": "10.01"}).outcome == ABOVE


def test_it_takes_a_thermal_voltage_out_by_reversing_the_current():
    """IR = 10 mV, E = 5 µV, I = 10 A: ± displays 1.0005 and −0.9995 mΩ give 1.0000 mΩ (common practice, computed)."""
    verdict = judged(
        reading={"text": "1.0005", "reversed": ("-0.9995",), "step_ohm": D("0.0000001")},
        point={"length_m": None},
    )
    assert verdict.value_ohm == D("0.0010000")


def test_it_never_treats_earth_resistance_like_a_metal():
    """Soil moves the other way and jumps on freezing (from memory, an IEEE table): the same display stays the same."""
    cold, warm = (
        earth_judged(
            limit={"reference_temperature_c": D(20)},
            reading={"temperature_c": D(t), "temperature_source": "contact"},
        )
        for t in (-15, 20)
    )
    assert cold.corrected_ohm == warm.corrected_ohm == D("57.5")


def test_it_moves_a_copper_bond_by_15_7_percent_from_winter_to_summer():
    """−5 to 35 °C: 40 K · 0.00393 = 15.72 % of the value at 20 °C (computed from the IACS coefficient, seen)."""
    winter, summer = (judged(reading={"temperature_c": D(t)}).corrected_ohm for t in (-5, 35))
    assert float((1 / summer - 1 / winter) * D("0.005")) == pytest.approx(0.1572, abs=1e-6)
