"""Range, unit, repeats, plateau, reversal and null: from what the display said to one value."""

from dataclasses import replace
from decimal import Decimal as D

import pytest

from inspections.calculations.display import NumberError
from inspections.rules.judging import judge
from inspections.rules.judging.facts import ABOVE, CANNOT, WITHIN
from tests.inspections.rules.judging_example import (
    INSTRUMENT,
    LIMIT,
    POINT,
    READING,
    earth_judged,
    judged,
    lines_of,
    text_of,
)

# ------------------------------------------------------------------ text and unit


@pytest.mark.parametrize(
    ("text", "ohm"),
    [("5.00", "0.00500"), ("5,00", "0.00500"), ("0.00", "0"), ("+5.00", "0.005"), ("\u22120.00", "0")],
)
def test_it_reads_a_display_exactly(text, ohm):
    assert judged(reading={"text": text}).value_ohm == D(ohm)


@pytest.mark.parametrize(
    "text", ["1,234.5", "1.234,5", "1 234", "1'234", "1,234,567", "1e3", "five", "", "-", "5.00 mΩ", "1.2.3"]
)
def test_it_refuses_grouped_digits_and_whatever_is_no_display(text):
    with pytest.raises(NumberError):
        judged(reading={"text": text})


@pytest.mark.parametrize(
    ("unit", "ohm"),
    [
        ("µΩ", "0.000005"),
        ("uohm", "0.000005"),
        ("mΩ", "0.005"),
        ("Ω", "5"),
        ("kohm", "5000"),
        ("MΩ", "5000000"),
    ],
)
def test_it_takes_the_unit_that_was_written(unit, ohm):
    assert judged(reading={"text": "5.00", "unit": unit}).value_ohm == D(ohm)


def test_it_is_exact_at_the_limit_where_binary_floats_are_not():
    """1001 mΩ against 1.001 Ω: in binary floats 1001 * 0.001 is 1.0010000000000001, above the limit."""
    assert 1001 * 0.001 > 1.001
    verdict = judged(
        reading={"text": "1001", "unit": "mohm", "step_ohm": D("0.001"), "range_top_ohm": D(2)},
        limit={"limit_ohm": D("1.001")},
        point={"length_m": None},
    )
    assert verdict.outcome == WITHIN


@pytest.mark.parametrize(("text", "asks"), [("5.00", False), ("5.0", True), ("5", True), ("5.000", True)])
def test_it_asks_about_decimals_that_differ_from_the_steps(text, asks):
    assert bool(judged(reading={"text": text}).questions) == asks


def test_it_asks_whether_a_lone_one_meant_over_range():
    verdict = judged(reading={"text": "1."})
    assert verdict.value_ohm == D("0.001")
    assert "over range" in verdict.questions[0]


def test_it_counts_the_steps_decimals_in_the_readings_unit():
    """A step of 0.01 mΩ shows five decimals in ohms; a step of 20 Ω shows none."""
    assert judged(reading={"text": "0.00500", "unit": "ohm"}).questions == ()
    assert not any(
        "decimal" in one for one in earth_judged(reading={"text": "60", "step_ohm": D(20)}).questions
    )


# ------------------------------------------------------------------ over range and below


@pytest.mark.parametrize("text", ["OL", "ol", ">25", "> 25", ">25.00"])
def test_it_is_above_where_the_top_of_an_exceeded_range_reaches_the_limit(text):
    verdict = judged(reading={"text": text}, limit={"limit_ohm": D("0.025")})
    assert verdict.outcome == ABOVE
    assert verdict.value_ohm is None and verdict.corrected_ohm is None and verdict.upper_ohm is None


def test_it_cannot_judge_over_range_below_the_limit():
    verdict = judged(reading={"text": "OL"}, limit={"limit_ohm": D("0.02501")})
    assert verdict.outcome == CANNOT
    assert verdict.reason


def test_it_corrects_the_top_of_an_exceeded_range_like_a_value():
    """25 mΩ at 60 °C is 25 / (1 + 0.00393 · 40) = 21.604 mΩ at 20 °C."""
    hot = {"text": "OL", "temperature_c": D(60)}
    assert judged(reading=hot, limit={"limit_ohm": D("0.0216")}).outcome == ABOVE
    assert judged(reading=hot, limit={"limit_ohm": D("0.0217")}).outcome == CANNOT


def test_it_subtracts_the_null_from_the_top_of_an_exceeded_range():
    nulled = {"text": "OL", "null_ohm": D("0.001")}
    assert judged(reading=nulled, limit={"limit_ohm": D("0.024")}).outcome == ABOVE
    assert judged(reading=nulled, limit={"limit_ohm": D("0.02401")}).outcome == CANNOT


def test_it_takes_the_hottest_metal_for_an_exceeded_range_without_a_temperature():
    unknown = {"text": "OL", "temperature_c": None, "temperature_source": "not taken"}
    assert judged(reading=unknown, limit={"limit_ohm": D("0.0216")}).outcome == ABOVE
    assert judged(reading=unknown, limit={"limit_ohm": D("0.0217")}).outcome == CANNOT


def test_it_cannot_judge_over_range_below_zero():
    assert judged(reading={"text": "-OL"}).outcome == CANNOT


def test_it_believes_a_lower_bound_on_the_display_over_the_ranges_top():
    assert judged(reading={"text": ">12"}, limit={"limit_ohm": D("0.012")}).outcome == ABOVE
    assert judged(reading={"text": ">12"}, limit={"limit_ohm": D("0.0121")}).outcome == CANNOT


@pytest.mark.parametrize(
    ("limit", "outcome"),
    [("0.03", WITHIN), ("0.0299", CANNOT)],
)
def test_it_is_within_below_a_value_only_with_its_digits(limit, outcome):
    """<0.01 Ω on a 0.01 Ω step and two digits is at most 0.01 + 2 · 0.01 = 0.03 Ω."""
    verdict = judged(
        reading={"text": "<0.01", "unit": "ohm", "step_ohm": D("0.01"), "range_top_ohm": D(20)},
        limit={"limit_ohm": D(limit)},
    )
    assert verdict.outcome == outcome
    assert verdict.value_ohm is None


def test_it_raises_a_bound_below_a_value_for_metal_colder_than_the_reference():
    """At −20 °C the bound of 0.03 Ω is 0.03 / (1 − 0.00393 · 40) = 0.0356 Ω at 20 °C; warm metal lowers nothing."""
    facts = {"text": "<0.01", "unit": "ohm", "step_ohm": D("0.01"), "range_top_ohm": D(20)}
    cold, hot = facts | {"temperature_c": D(-20)}, facts | {"temperature_c": D(60)}
    assert judged(reading=cold, limit={"limit_ohm": D("0.0355")}).outcome == CANNOT
    assert judged(reading=cold, limit={"limit_ohm": D("0.0356")}).outcome == WITHIN
    assert judged(reading=hot, limit={"limit_ohm": D("0.0299")}).outcome == CANNOT


# ------------------------------------------------------------------ a range too coarse for the limit

COARSE = {"unit": "ohm", "step_ohm": D("0.01"), "range_top_ohm": D(20), "text": "0.00"}
TWO_AND_TWO = {"percent_of_reading": D(2), "digits": D(2)}


def test_it_says_within_for_zero_on_a_coarse_step_against_a_wide_limit():
    """0.00 Ω ± (2 % + 2 digits) is at most 0.02 Ω: within 0.2 Ω, and no answer against 10 mΩ."""
    assert judged(reading=COARSE, instrument=TWO_AND_TWO, limit={"limit_ohm": D("0.2")}).outcome == WITHIN
    verdict = judged(reading=COARSE, instrument=TWO_AND_TWO, limit={"limit_ohm": D("0.01")})
    assert verdict.outcome == CANNOT
    assert "cannot resolve" in verdict.reason


@pytest.mark.parametrize("decision", ["simple", "guarded", "four-way"])
@pytest.mark.parametrize(
    ("text", "outcome"),
    [("0.00", WITHIN), ("0.01", CANNOT), ("0.04", CANNOT), ("0.05", ABOVE)],
)
def test_it_lets_the_accuracy_bound_decide_where_the_range_cannot_resolve_the_limit(text, outcome, decision):
    """L = 0.02 Ω, a(L) = 2 % · 0.02 + 2 · 0.01 = 0.0204 ≥ L. 0.00: up to 0.02. 0.04: from 0.0192. 0.05: from 0.029."""
    verdict = judged(
        reading=COARSE | {"text": text},
        instrument=TWO_AND_TWO,
        limit={"limit_ohm": D("0.02"), "decision": decision, "guard": D(3)},
    )
    assert verdict.outcome == outcome
    assert verdict.statement is None


@pytest.mark.parametrize("text", ["0", "0.00", "0.01"])
def test_a_range_too_coarse_for_the_limit_is_told_before_a_temperature_that_was_not_taken(text):
    """Nothing on a 20 Ω range speaks of 10 mΩ, however warm the metal was."""
    untaken = {"text": text, "temperature_c": None, "temperature_source": "not taken"}
    verdict = judged(reading=COARSE | untaken, limit={"limit_ohm": D("0.010")})
    assert verdict.outcome == CANNOT
    assert "range cannot resolve the limit" in verdict.reason


def test_which_reason_is_told_first_changes_no_outcome():
    """As calculation 3 had it, the temperature first: the outcomes are the same, step by step through the limit."""
    untaken = replace(READING, temperature_c=None, temperature_source="not taken", **COARSE)
    told = set()
    for limit in ("0.010", "0.02", "0.025", "0.03"):
        for hundredths in range(8):
            facts = (
                POINT, replace(LIMIT, limit_ohm=D(limit)), INSTRUMENT,
                replace(untaken, text=f"0.0{hundredths}"), (),
            )  # fmt: skip
            now, before = judge(*facts), judge(*facts, version="3")
            assert now.outcome == before.outcome
            told.add((before.reason[:15], now.reason[:15]))
    assert ("The temperature", "The range canno") in told


def test_it_uses_the_agreed_decision_where_the_range_just_resolves_the_limit():
    """a(L) = 2 · 0.01 = 0.02 Ω. L = 0.02: not resolved, 0.01 is no answer. L = 0.0201: resolved, 0.01 is within."""
    digits_only = {"percent_of_reading": D(0), "digits": D(2)}
    reading = COARSE | {"text": "0.01"}
    assert judged(reading=reading, instrument=digits_only, limit={"limit_ohm": D("0.02")}).outcome == CANNOT
    assert judged(reading=reading, instrument=digits_only, limit={"limit_ohm": D("0.0201")}).outcome == WITHIN


def test_it_advises_a_finer_range_when_the_step_is_over_a_tenth_of_the_limit():
    at_a_tenth = judged(reading=COARSE, instrument=TWO_AND_TWO, limit={"limit_ohm": D("0.1")})
    over = judged(reading=COARSE, instrument=TWO_AND_TWO, limit={"limit_ohm": D("0.0999")})
    assert "Advice" not in text_of(at_a_tenth, "range")
    assert lines_of(over, "range")[1].text.startswith("Advice")
    assert (
        over.outcome == judged(reading=COARSE, instrument=TWO_AND_TWO, limit={"limit_ohm": D("0.1")}).outcome
    )


# ------------------------------------------------------------------ repeats and plateau


def test_it_takes_the_mean_of_the_repeats():
    verdict = judged(reading={"repeats": ("5.02", "5.04")}, limit={"repeats": 3})
    assert verdict.value_ohm == D("0.00502")
    assert verdict.outcome == WITHIN


def test_it_cannot_judge_fewer_displays_than_wanted():
    verdict = judged(reading={"repeats": ("5.02",)}, limit={"repeats": 3})
    assert verdict.outcome == CANNOT
    assert "2 of 3" in verdict.reason
    assert verdict.value_ohm == D("0.00501")
    assert judged(limit={"repeats": 2}, reading={"text": "OL"}).outcome == CANNOT


@pytest.mark.parametrize(("second", "outcome"), [("10.50", WITHIN), ("10.52", CANNOT)])
def test_it_allows_the_allowed_spread_itself(second, outcome):
    """9.50 and 10.50 lie 5 % from their mean exactly; 9.50 and 10.52 lie 5.1 %."""
    verdict = judged(reading={"text": "9.50", "repeats": (second,)})
    assert verdict.outcome == outcome


def test_it_follows_the_rules_own_spread():
    facts = {"text": "9.50", "repeats": ("10.50",)}
    assert judged(reading=facts, limit={"allowed_spread_percent": D("4.9")}).outcome == CANNOT


def test_it_cannot_judge_when_one_display_shows_no_value():
    for other in ("OL", "--", "<0.01"):
        verdict = judged(reading={"repeats": (other,)})
        assert verdict.outcome == CANNOT
        assert verdict.value_ohm is None


def test_it_is_above_when_every_display_is_over_range():
    assert judged(reading={"text": "OL", "repeats": ("OL", "OL")}, limit={"repeats": 3}).outcome == ABOVE


def plateau(*texts):
    return {"positions": tuple((D(52 + 10 * i), text) for i, text in enumerate(texts))}


def test_it_takes_the_mean_of_a_plateau():
    """57.5, 58.0, 59.0 Ω: mean 58.1667, greatest deviation 0.8333 = 1.43 %."""
    verdict = earth_judged(reading=plateau("57.5", "58.0", "59.0"))
    assert verdict.outcome == WITHIN
    assert round(verdict.value_ohm, 4) == D("58.1667")
    assert "1.433 %" in text_of(verdict, "repeats")


def test_it_finds_no_plateau_where_the_positions_differ():
    """41, 48, 60 Ω: mean 49.667, greatest deviation 10.333 = 20.8 %."""
    verdict = earth_judged(reading=plateau("41.0", "48.0", "60.0"))
    assert verdict.outcome == CANNOT
    assert "plateau" in verdict.reason


def test_it_wants_three_positions_for_a_plateau():
    assert earth_judged(reading=plateau("57.5", "58.0")).outcome == CANNOT


def test_it_counts_a_plateaus_positions_as_displays():
    assert earth_judged(reading=plateau("57.5", "58.0", "59.0"), limit={"repeats": 3}).outcome == WITHIN


def test_it_does_not_take_the_scatter_over_positions_for_a_type_a_uncertainty():
    """2 · √(((2 % · 58.1667 + 5 · 0.1)/√3)² + (0.1/√12)²): the positions differ by place, not by chance."""
    verdict = earth_judged(reading=plateau("57.5", "58.0", "59.0"))
    expected = 2 * (((0.02 * 58.16666667 + 0.5) / 3**0.5) ** 2 + 0.01 / 12) ** 0.5
    assert float(verdict.uncertainty_ohm) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("text", ["15.00", "0.00", "6.31", "7.00"])
def test_it_judges_nothing_where_the_display_contradicts_the_positions(text):
    """6.60, 6.66, 6.71 Ω: mean 6.6567, of which 5 % are 0.3328; 6.31 and 7.00 lie 0.3467 and 0.3433 off."""
    hundredths = {"text": text, "step_ohm": D("0.01"), "range_top_ohm": D(20)}
    verdict = earth_judged(
        reading={**hundredths, **plateau("6.60", "6.66", "6.71")}, limit={"limit_ohm": D(10)}
    )
    assert verdict.outcome == CANNOT
    assert verdict.reason.replace("\u00a0", " ") == (
        f"The display of {text} Ω and the positions, which come to 6.65667 Ω, contradict each other."
    )
    assert any("which of them is right?" in question for question in verdict.questions)
    assert "they contradict each other" in text_of(verdict, "repeats")


@pytest.mark.parametrize("text", ["6.66", "6.33", "6.98"])
def test_it_says_which_figure_it_takes_where_display_and_positions_agree(text):
    hundredths = {"text": text, "step_ohm": D("0.01"), "range_top_ohm": D(20)}
    verdict = earth_judged(
        reading={**hundredths, **plateau("6.60", "6.66", "6.71")}, limit={"limit_ohm": D(10)}
    )
    assert (verdict.outcome, verdict.questions) == (WITHIN, ())
    assert "they agree. What follows is reckoned with the mean over the positions." in text_of(
        verdict, "repeats"
    )


def test_a_display_one_step_of_a_coarse_range_away_from_the_positions_agrees():
    """0.1 and 0.2 Ω on a 0.1 Ω step may be one and the same; 0.3 Ω is another."""
    near, far = (
        earth_judged(reading={"text": text, **plateau("0.1", "0.1", "0.1")}, limit={"limit_ohm": D(10)})
        for text in ("0.2", "0.3")
    )
    assert (near.outcome, far.outcome) == (WITHIN, CANNOT)


def test_repeats_beside_positions_are_held_against_them_as_their_mean():
    beside = {"text": "57.0", "repeats": ("59.0",), **plateau("57.5", "58.0", "59.0")}
    assert earth_judged(reading=beside).outcome == WITHIN
    assert earth_judged(reading={**beside, "text": "70.0", "repeats": ("70.2",)}).outcome == CANNOT


def test_a_fall_of_potential_without_positions_asks_for_its_plateau():
    for reading, rule in (
        ({}, {}),
        ({"repeats": ("57.6",)}, {}),
        ({"repeats": ("57.4", "57.6")}, {"repeats": 3}),
    ):
        verdict = earth_judged(reading=reading, limit=rule)
        assert verdict.outcome == WITHIN, "as the case files have it: positions may be left out"
        assert [question for question in verdict.questions if "No plateau is shown" in question]
        assert "no plateau is shown" in text_of(verdict, "repeats")
    assert earth_judged(reading={"text": "OL"}).questions == ()
    assert earth_judged(reading={"method": "clamp-on"}, limit={"methods": ()}).questions == ()


# ------------------------------------------------------------------ reversal and null


def test_it_halves_the_difference_of_both_current_directions():
    """+0.82 and −0.46 mΩ: 0.64 mΩ, offset 0.18 mΩ = 28.1 % of it."""
    verdict = judged(reading={"text": "+0.82", "reversed": ("−0.46",)}, point={"parallel_paths": True})
    assert verdict.value_ohm == D("0.00064")
    assert verdict.questions == ()
    assert "offset 0.18 mΩ, 28.1 %" in text_of(verdict, "reversal")


def test_it_asks_whether_the_display_keeps_the_sign():
    """+0.82 and +0.10 mΩ: 0.36 mΩ, and a question."""
    verdict = judged(reading={"text": "0.82", "reversed": ("0.10",)}, point={"parallel_paths": True})
    assert verdict.value_ohm == D("0.00036")
    assert [q for q in verdict.questions if "does the display keep the sign?" in q]


def test_it_takes_the_three_step_form():
    """(0.82 − 2 · (−0.46) + 0.90) / 4 = 0.66 mΩ."""
    verdict = judged(reading={"text": "0.82", "reversed": ("-0.46", "0.90")})
    assert verdict.value_ohm == D("0.00066")


def test_it_reverses_the_mean_of_the_repeats_and_then_takes_off_the_null():
    """((5.00 + 5.10)/2 − (−5.03))/2 − 0.04 = 5.00 mΩ."""
    verdict = judged(reading={"repeats": ("5.10",), "reversed": ("-5.03",), "null_ohm": D("0.00004")})
    assert verdict.value_ohm == D("0.00500")


def test_it_cannot_judge_a_reversal_that_shows_no_value():
    for other in ("OL", "--", "<0.01"):
        verdict = judged(reading={"reversed": (other,)})
        assert verdict.outcome == CANNOT
        assert verdict.value_ohm is None
    assert judged(reading={"text": "OL", "reversed": ("-5.00",)}).outcome == CANNOT
    assert judged(reading={"text": "OL", "reversed": ("-OL",)}).outcome == ABOVE


def test_it_subtracts_the_lead_null():
    assert judged(reading={"null_ohm": D("0.0003")}).value_ohm == D("0.00470")


def test_it_cannot_judge_a_value_below_zero_and_never_clamps_it():
    verdict = judged(reading={"text": "0.10", "null_ohm": D("0.00012")})
    assert verdict.outcome == CANNOT
    assert verdict.value_ohm == D("-0.00002")
    assert verdict.corrected_ohm is None and verdict.lower_ohm is None
    assert judged(reading={"text": "-0.01"}).outcome == CANNOT
    assert judged(reading={"text": "-0.01"}, limit={"limit_ohm": None}).outcome == CANNOT


def test_it_judges_zero_after_the_null():
    verdict = judged(reading={"text": "0.12", "null_ohm": D("0.00012")}, point={"parallel_paths": True})
    assert verdict.value_ohm == 0
    assert verdict.outcome == WITHIN
