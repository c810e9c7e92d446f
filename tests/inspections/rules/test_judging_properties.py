"""What must hold for every reading, not only for the chosen ones."""

from decimal import Decimal as D

from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.calculations.display import parse_display
from inspections.rules.judging.facts import ABOVE, CANNOT, DECISIONS, WITHIN
from tests.inspections.rules.judging_example import judged

RANK = {WITHIN: 0, CANNOT: 1, ABOVE: 2}

hundredths = st.integers(0, 2500).map(lambda n: f"{D(n) / 100:.2f}")
limits = st.integers(1, 4000).map(lambda n: D(n) / 100000)
temperatures = st.one_of(st.none(), st.integers(-20, 60).map(D))
percents = st.sampled_from([D(0), D("0.5"), D(2), D(5)])
digits = st.integers(0, 50).map(D)
decisions = st.sampled_from(DECISIONS)


def facts(limit, temperature, decision):
    return {
        "limit": {"limit_ohm": limit, "decision": decision},
        "reading": {"temperature_c": temperature, "temperature_accuracy_k": None},
    }


@settings(max_examples=200, deadline=None)
@given(hundredths, hundredths, limits, temperatures, percents, digits, decisions)
def test_it_never_improves_with_a_higher_display(a, b, limit, temperature, percent, digit, decision):
    lower, higher = sorted((a, b), key=D)
    case = facts(limit, temperature, decision)
    instrument = {"percent_of_reading": percent, "digits": digit}
    ranks = [
        RANK[
            judged(
                limit=case["limit"], instrument=instrument, reading=case["reading"] | {"text": text}
            ).outcome
        ]
        for text in (lower, higher)
    ]
    assert ranks == sorted(ranks)


@settings(max_examples=150, deadline=None)
@given(hundredths, limits, temperatures, percents, digits, decisions)
def test_it_is_never_better_over_range_than_at_any_display(
    text, limit, temperature, percent, digit, decision
):
    case = facts(limit, temperature, decision)
    instrument = {"percent_of_reading": percent, "digits": digit}
    shown, over = (
        judged(limit=case["limit"], instrument=instrument, reading=case["reading"] | {"text": text}).outcome
        for text in (text, "OL")
    )
    assert RANK[over] >= RANK[shown]


@settings(max_examples=150, deadline=None)
@given(hundredths, limits, st.integers(0, 20), st.integers(0, 20), decisions)
def test_it_never_turns_within_by_a_wider_temperature_accuracy(text, limit, a, b, decision):
    narrow, wide = sorted((a, b))
    outcomes = [
        judged(
            limit={"limit_ohm": limit, "decision": decision},
            reading={"text": text, "temperature_c": D(35), "temperature_accuracy_k": D(k)},
        ).outcome
        for k in (narrow, wide)
    ]
    assert not (outcomes[1] == WITHIN and outcomes[0] != WITHIN)


@settings(max_examples=150, deadline=None)
@given(hundredths, limits, st.integers(0, 60), st.integers(0, 60))
def test_it_never_turns_within_by_more_digits_of_uncertainty(text, limit, a, b):
    """Simple acceptance: once the range cannot resolve the limit, the accuracy bound asks for more, not less."""
    narrow, wide = sorted((a, b))
    outcomes = [
        judged(limit={"limit_ohm": limit}, reading={"text": text}, instrument={"digits": D(d)}).outcome
        for d in (narrow, wide)
    ]
    assert not (outcomes[1] == WITHIN and outcomes[0] != WITHIN)


@settings(max_examples=100, deadline=None)
@given(st.integers(1, 10**9), st.integers(0, 6), st.sampled_from(["µΩ", "mΩ", "Ω", "kΩ", "MΩ"]))
def test_it_is_the_same_value_in_any_unit(number, places, unit):
    """The text is exact in every unit: value · 10ⁿ gives back the digits."""
    text = f"{D(number).scaleb(-places):f}"
    shift = {"µΩ": 6, "mΩ": 3, "Ω": 0, "kΩ": -3, "MΩ": -6}[unit]
    assert judged(reading={"text": text, "unit": unit}).value_ohm.scaleb(shift) == D(number).scaleb(-places)


@settings(max_examples=100, deadline=None)
@given(hundredths, hundredths)
def test_it_mirrors_its_sign_when_both_displays_of_a_reversal_swap(forward, reversed_):
    value = judged(reading={"text": forward, "reversed": (f"-{reversed_}",)}).value_ohm
    mirrored = judged(reading={"text": f"-{reversed_}", "reversed": (forward,)}).value_ohm
    assert value == -mirrored


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="0123456789.,-−+<>OL eE'_µΩ", max_size=8))
def test_it_reads_a_text_or_refuses_it_with_a_sentence(text):
    try:
        display = parse_display(text)
    except ValueError as error:
        assert str(error).endswith(".")
    else:
        assert display.kind in ("number", "over range", "below", "no display")
