"""The budget as a table: each row recomputes, and all of them together give u, k and U exactly."""

import math
from decimal import Decimal as D
from decimal import localcontext

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inspections.calculations.uncertainty import operating_standard_ohm, student_t_95
from tests.inspections.rules.judging_example import judged, text_of
from tests.inspections.rules.test_judging_lines import VERDICTS

WITH_A_VALUE = [name for name, verdict in VERDICTS.items() if verdict.uncertainty_ohm is not None]


def assert_it_adds_up(verdict):
    with localcontext(prec=28):
        for part in verdict.budget:
            assert part.standard_ohm == part.width_ohm / part.divisor * part.sensitivity
        squares = D(0)
        for part in verdict.budget:
            squares += part.standard_ohm * part.standard_ohm
        assert squares.sqrt() == verdict.standard_uncertainty_ohm
        assert verdict.coverage_factor * verdict.standard_uncertainty_ohm == verdict.uncertainty_ohm


@pytest.mark.parametrize("name", WITH_A_VALUE)
def test_it_gives_u_and_the_expanded_uncertainty_exactly(name):
    assert_it_adds_up(VERDICTS[name])


def test_it_names_its_rows_in_the_order_of_the_printed_lines():
    rows = VERDICTS["everything"].budget
    assert [part.name for part in rows] == ["accuracy", "step", "temperature", "repeats"]
    assert [part.degrees for part in rows] == [None, None, None, 2]
    assert [round(part.divisor, 4) for part in rows] == [D("1.7321"), D("3.4641"), D("1.7321"), 1]
    printed = text_of(VERDICTS["everything"], "uncertainty")
    for part in rows[:3]:
        assert f"{part.standard_ohm * 1000:.4g}"[:6] in printed


def test_it_carries_each_part_by_its_sensitivity_to_the_reference_temperature():
    """5.00 mΩ at 35 °C: factor 1/(1 + 0.00393 · 15) = 0.944332; the metal's accuracy acts on the result itself."""
    rows = {part.name: part for part in VERDICTS["corrected"].budget}
    assert float(rows["accuracy"].width_ohm) == pytest.approx(45e-6, rel=1e-12)
    assert float(rows["accuracy"].sensitivity) == pytest.approx(1 / 1.05895, rel=1e-12)
    assert float(rows["step"].width_ohm) == pytest.approx(10e-6, rel=1e-12)
    assert rows["temperature"].sensitivity == 1
    assert float(rows["temperature"].width_ohm) == pytest.approx(
        0.005 / 1.05895 * 0.00393 / 1.05895, rel=1e-9
    )


def test_it_has_the_degrees_of_freedom_of_welch_and_satterthwaite():
    verdict = judged(reading={"repeats": ("5.10", "5.02", "4.96")})
    scatter = next(part for part in verdict.budget if part.name == "repeats")
    expected = float(verdict.standard_uncertainty_ohm) ** 4 / (float(scatter.standard_ohm) ** 4 / 3)
    assert float(verdict.effective_degrees) == pytest.approx(expected, rel=1e-12)
    assert float(verdict.coverage_factor) == pytest.approx(stats.t.ppf(0.975, expected), rel=1e-8)
    assert verdict.coverage_factor == student_t_95(verdict.effective_degrees)
    assert (judged().coverage_factor, judged().effective_degrees) == (2, None)


def test_it_has_no_row_where_there_is_no_value():
    for text in ("OL", "<0.01", "--"):
        verdict = judged(reading={"text": text})
        assert verdict.budget == ()
        assert (verdict.standard_uncertainty_ohm, verdict.coverage_factor) == (None, None)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.integers(480, 520).map(lambda n: f"{n / 100:.2f}"), max_size=5),
    st.integers(-20, 60),
    st.sampled_from(["0", "0.5", "30"]),
    st.integers(0, 20),
)
def test_it_adds_up_for_any_reading(repeats, celsius, percent, digits):
    verdict = judged(
        reading={"repeats": tuple(repeats), "temperature_c": D(celsius), "temperature_accuracy_k": D(1)},
        instrument={"percent_of_reading": D(percent), "digits": D(digits)},
        limit={"allowed_spread_percent": D(100)},
    )
    assert_it_adds_up(verdict)


# ------------------------------------------------------------------ 30 % operating uncertainty


def test_it_takes_thirty_percent_as_a_rectangular_half_width_and_not_as_an_expanded_uncertainty():
    """IEC 61557 (from memory): 30 % of 10.0 Ω is ± 3 Ω. u = 3/√3 = 1.7321 Ω, U = 3.4641 Ω; as k = 2 U were 3.0 Ω."""
    thirty = judged(
        point={"quantity": "earth", "material": None},
        limit={"limit_ohm": D(100), "reference_temperature_c": None, "minimum_current_a": None},
        instrument={"percent_of_reading": D(30), "digits": D(0)},
        reading={"text": "10.0", "unit": "ohm", "step_ohm": D("0.1"), "range_top_ohm": D(200)},
    )
    accuracy = next(part for part in thirty.budget if part.name == "accuracy")
    assert accuracy.width_ohm == D(3)
    assert accuracy.standard_ohm == operating_standard_ohm(D(10))
    assert float(accuracy.standard_ohm) == pytest.approx(3 / math.sqrt(3), rel=1e-12)
    assert float(thirty.uncertainty_ohm) == pytest.approx(2 * math.sqrt(3 + 0.01 / 12), rel=1e-12)
    assert thirty.uncertainty_ohm > D("3.46")


# ------------------------------------------------------------------ probability of conformity


@pytest.mark.parametrize("text", ["19.00", "19.90", "20.00", "20.05", "21.00"])
def test_it_gives_the_probability_of_conformity_beside_the_decision(text):
    """Φ((L − y)/u), JCGM 106:2012 (its one-sided example from memory), against scipy."""
    verdict = judged(reading={"text": text})
    y, u = float(verdict.corrected_ohm), float(verdict.standard_uncertainty_ohm)
    assert verdict.conformity_probability == pytest.approx(
        stats.norm.cdf((0.020 - y) / u), rel=1e-9, abs=1e-15
    )
    line = verdict.lines[[line.step for line in verdict.lines].index("decision") + 1]
    assert line.step == "decision"
    assert line.text.startswith("Probability of conformity")
    assert "from memory" in line.source


def test_it_says_one_half_at_the_limit_itself_and_never_a_whole_certainty():
    assert judged(reading={"text": "20.00"}).conformity_probability == 0.5
    assert "Φ(z) = 0.5000" in text_of(judged(reading={"text": "20.00"}), "decision")
    assert "Φ(z) > 0.9999" in text_of(judged(), "decision")
    assert "Φ(z) < 0.0001" in text_of(judged(reading={"text": "24.00"}), "decision")


def test_it_decides_nothing():
    """Simple acceptance at the limit is within with one half; guarded cannot be judged with the same."""
    simple = judged(reading={"text": "20.00"})
    guarded = judged(reading={"text": "20.00"}, limit={"decision": "guarded"})
    assert simple.conformity_probability == guarded.conformity_probability
    assert simple.outcome != guarded.outcome


@pytest.mark.parametrize(
    "facts",
    [
        {"limit": {"limit_ohm": None}},
        {"reading": {"text": "OL"}},
        {"reading": {"text": "<0.01"}},
        {"reading": {"text": "--"}},
        {"reading": {"method": "two-wire"}},
        {"instrument": {"percent_of_reading": None}},
        {"reading": {"text": "-0.10"}},
    ],
)
def test_it_gives_no_probability_without_a_value_a_limit_or_after_a_stop(facts):
    verdict = judged(**facts)
    assert verdict.conformity_probability is None
    assert "Probability" not in text_of(verdict, "decision")
