"""The decision on both sides of each boundary. As found, digits only: U is the same for every value.

With 0 % and 10 digits of 0.01 mΩ: a = 0.1 mΩ, U = 2 √(0.1²/3 + 0.01²/12) = 0.115614 mΩ.
"""

from decimal import Decimal as D

import pytest

from inspections.rules.judging.facts import ABOVE, CANNOT, WITHIN
from tests.inspections.rules.judging_example import judged, text_of

U_MOHM = 0.1156143


def decide(text, decision, *, limit="0.010", guard="1"):
    return judged(
        instrument={"percent_of_reading": D(0), "digits": D(10)},
        limit={
            "reference_temperature_c": None,
            "limit_ohm": D(limit),
            "decision": decision,
            "guard": D(guard),
        },
        reading={"text": text},
    )


def test_it_has_the_stated_uncertainty():
    assert float(decide("9.50", "simple").uncertainty_ohm) * 1000 == pytest.approx(U_MOHM, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "outcome"), [("9.99", WITHIN), ("10.00", WITHIN), ("10.01", ABOVE), ("0.00", WITHIN)]
)
def test_it_counts_the_limit_itself_as_within(text, outcome):
    verdict = decide(text, "simple")
    assert verdict.outcome == outcome
    assert verdict.statement is None


@pytest.mark.parametrize(
    ("text", "outcome"),
    [("9.88", WITHIN), ("9.89", CANNOT), ("10.00", CANNOT), ("10.11", CANNOT), ("10.12", ABOVE)],
)
def test_it_guards_the_limit_on_both_sides(text, outcome):
    """10 − 0.1156 = 9.8844 and 10 + 0.1156 = 10.1156."""
    verdict = decide(text, "guarded")
    assert verdict.outcome == outcome
    assert verdict.reason.startswith("Conformity not shown") == (outcome == CANNOT)


@pytest.mark.parametrize(("text", "outcome"), [("9.94", WITHIN), ("9.95", CANNOT), ("10.06", ABOVE)])
def test_it_narrows_the_guard_band_by_the_rules_own_factor(text, outcome):
    """Half of U: 9.9422 and 10.0578."""
    assert decide(text, "guarded", guard="0.5").outcome == outcome


def test_it_is_simple_with_a_guard_of_nothing():
    assert decide("10.00", "guarded", guard="0").outcome == WITHIN
    assert decide("10.01", "guarded", guard="0").outcome == ABOVE


@pytest.mark.parametrize(
    ("text", "statement", "outcome"),
    [
        ("9.88", "pass", WITHIN),
        ("9.89", "conditional pass", CANNOT),
        ("10.00", "conditional pass", CANNOT),
        ("10.01", "conditional fail", CANNOT),
        ("10.11", "conditional fail", CANNOT),
        ("10.12", "fail", ABOVE),
    ],
)
def test_it_makes_the_four_way_statement(text, statement, outcome):
    """Zones of ILAC-G8:09/2019 4.2.3 (seen as reproduced); equality to the better side is our convention."""
    verdict = decide(text, "four-way")
    assert (verdict.statement, verdict.outcome) == (statement, outcome)
    assert statement in text_of(verdict, "decision")


def test_it_calls_the_limit_itself_a_conditional_pass_for_even_the_finest_instrument():
    """The step alone leaves U = 2 · 0.01 / √12 mΩ."""
    verdict = judged(
        instrument={"percent_of_reading": D(0), "digits": D(0)},
        limit={"reference_temperature_c": None, "limit_ohm": D("0.005"), "decision": "four-way"},
    )
    assert verdict.statement == "conditional pass"


def test_it_makes_no_statement_after_an_earlier_stop():
    verdict = judged(limit={"decision": "four-way"}, reading={"method": "two-wire"})
    assert verdict.outcome == CANNOT
    assert verdict.statement is None
    for text in ("OL", "<0.01", "--"):
        assert judged(limit={"decision": "four-way"}, reading={"text": text}).statement is None


def test_it_names_the_rule_that_was_applied():
    assert "guarded, w = 1 · U" in text_of(decide("9.50", "guarded"), "limit")
    assert "four-way" in text_of(decide("9.50", "four-way"), "limit")
