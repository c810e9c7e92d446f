"""What was set beside what flowed, and the limit of one electrode of several."""

from decimal import Decimal as D

import pytest

from inspections.calculations.rods_together import parallel_ohm
from inspections.rules.judging.facts import ABOVE, CANNOT, WITHIN
from tests.inspections.rules.judging_example import earth_judged, judged, text_of


def about_current(verdict):
    return [question for question in verdict.questions if " A " in question.replace("\u00a0", " ")]


@pytest.mark.parametrize(
    ("set_a", "flowed_a", "asks"),
    [("10", "10", False), ("10", "9", False), ("10", "8.99", True), ("10", "0.2", True)],
)
def test_it_prints_the_set_current_beside_what_flowed_and_asks_below_nine_tenths(set_a, flowed_a, asks):
    verdict = judged(
        reading={"set_current_a": D(set_a), "current_a": D(flowed_a)}, limit={"minimum_current_a": None}
    )
    assert f"set to {set_a} A, achieved {flowed_a} A" in text_of(verdict, "current")
    assert bool(about_current(verdict)) == asks
    assert verdict.outcome == WITHIN


def test_the_rule_is_held_against_what_flowed_not_against_what_was_set():
    verdict = judged(reading={"set_current_a": D(10), "current_a": D("0.2")})
    assert verdict.outcome == CANNOT
    assert "at least 1\u00a0A wanted" in verdict.reason


def test_a_set_current_does_not_stand_in_for_one_that_nobody_noted():
    verdict = judged(reading={"set_current_a": D(10), "current_a": None})
    assert verdict.outcome == CANNOT
    assert any("what current did flow?" in question for question in verdict.questions)


def test_without_a_set_current_the_line_is_as_it_was():
    assert text_of(judged(), "current") == "Test current 10 A; the rule asks for at least 1 A: enough."


@pytest.mark.parametrize(
    ("text", "electrodes", "outcome"),
    [("39.9", 4, WITHIN), ("40.0", 4, WITHIN), ("40.1", 4, ABOVE), ("40.0", 3, ABOVE), ("9.9", 1, WITHIN)],
)
def test_one_of_n_electrodes_may_come_to_n_times_the_whole_limit(text, electrodes, outcome):
    """Common practice, no published source: n equal electrodes side by side come to one nth of one."""
    limit = {"limit_ohm": D(10), "electrodes": electrodes}
    verdict = earth_judged(limit=limit, reading={"text": text})
    assert verdict.outcome == outcome
    assert verdict.limit_ohm == 10 * electrodes
    assert parallel_ohm([verdict.limit_ohm] * electrodes) == 10
    printed = text_of(verdict, "limit")
    assert f"the system has {electrodes} electrodes" in printed
    assert f"{electrodes} × 10 = {10 * electrodes} Ω" in printed
    assert f"Upper limit {10 * electrodes} Ω" in printed


def test_the_rules_own_factor_is_printed_and_used():
    verdict = earth_judged(limit={"limit_ohm": D(10), "electrodes": 4, "times": D("1.5")})
    assert verdict.limit_ohm == 60
    assert "1.5 × 4 × 10 = 60.0 Ω" in text_of(verdict, "limit")


def test_a_limit_of_its_own_is_left_as_it_is():
    verdict = earth_judged()
    assert verdict.limit_ohm == 100
    assert "electrodes" not in text_of(verdict, "limit")
