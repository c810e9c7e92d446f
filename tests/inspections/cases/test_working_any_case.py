"""Whatever a case holds, it is answered or refused with one sentence: nothing else ever comes out."""

import json
from decimal import Decimal as D

from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.cases.reading_case import CaseError, parse_case
from inspections.cases.working import work
from inspections.rules.judging import STEPS
from inspections.rules.judging.facts import CANNOT, FOUR_WAY, OUTCOMES
from tests.inspections.cases.working_example import example

displays = st.one_of(
    st.integers(-300, 2600).map(lambda n: f"{n / 100:.2f}"),
    st.sampled_from(["OL", "-OL", ">25", "<0.01", "--", "0", "1.", "5,00", "\u22120.46", "1.000,0"]),
)
amounts = st.sampled_from(["20 mohm", "5 mohm", "0.01 mohm", "0.2 ohm", "1 MΩ"])

changes = st.fixed_dictionaries(
    {},
    optional={
        "point__quantity": st.sampled_from(["bond", "joint", "continuity", "earth", "earth-system"]),
        "point__material": st.sampled_from(
            ["copper", "steel", "zinc", None, {"alpha": "0.0065 / K", "at": "0 degC"}]
        ),
        "point__length": st.sampled_from(["60 m", None]),
        "point__parallel_paths": st.sampled_from([True, False, None]),
        "rule__limit": st.none() | amounts,
        "rule__reference_temperature": st.sampled_from(["20 degC", "25 degC", None]),
        "rule__decision": st.sampled_from(["simple", "guarded", "four-way"]),
        "rule__guard": st.sampled_from(["0", "0.83", "3"]),
        "rule__repeats": st.sampled_from([1, 2, 3]),
        "rule__open_circuit_voltage": st.sampled_from([None, ["4 V", "24 V"]]),
        "instrument__accuracy": st.sampled_from(
            [{"percent_of_reading": "2", "digits": "5"}, {"percent_of_reading": "0", "digits": "0"}]
        ),
        "instrument__valid_until": st.sampled_from(["2027-05-03", "2027-05-02"]),
        "reading__text": displays,
        "reading__unit": st.sampled_from(["mohm", "ohm", "µΩ", "MΩ"]),
        "reading__step": amounts,
        "reading__method": st.sampled_from(["four-wire", "two-wire", "fall-of-potential"]),
        "reading__current": st.sampled_from(["10 A", "200 mA", None]),
        "reading__temperature": st.sampled_from(["35 degC", "20 degC", "-40 degC", None]),
        "reading__temperature_source": st.sampled_from(["contact", "air", "not taken", None]),
        "reading__temperature_accuracy": st.sampled_from(["1 K", None]),
        "reading__repeats": st.lists(displays, max_size=3),
        "reading__reversed": st.one_of(st.none(), displays, st.lists(displays, max_size=2)),
        "reading__null": st.none() | amounts,
        "reading__positions": st.lists(
            displays.map(lambda text: {"percent": "62", "text": text}), max_size=4
        ),
        "history": st.lists(
            st.fixed_dictionaries(
                {
                    "on": st.sampled_from(["2026-05-02", "2027-05-03", "2028-01-01"]),
                    "corrected": st.sampled_from(["0 ohm", "4.60 mohm", "4.6 ohm"]),
                    "method": st.sampled_from(["four-wire", "two-wire"]),
                    "uncertainty": st.sampled_from([None, "0.1 mohm"]),
                    "baseline": st.booleans(),
                }
            ),
            max_size=3,
        ),
    },
)


@settings(max_examples=600, deadline=None)
@given(changes)
def test_it_answers_or_refuses_with_a_sentence_and_keeps_its_promises(changed):
    try:
        found = work(parse_case(json.dumps(example(**changed))))
    except CaseError as error:
        assert str(error).endswith((".", "…"))
        return
    assert found["outcome"] in OUTCOMES
    assert bool(found["reason"]) == (found["outcome"] == CANNOT)
    steps = [STEPS.index(line["step"]) for line in found["lines"]]
    assert steps == sorted(steps)
    numbers = [value for key, value in found.items() if key.endswith("_ohm") and value is not None]
    assert not any(letter in number for number in numbers for letter in "eE")
    if found["upper_ohm"] is not None:
        assert D(found["lower_ohm"]) <= D(found["corrected_ohm"]) <= D(found["upper_ohm"])
    if found["statement"] is not None:
        assert changed.get("rule__decision") == FOUR_WAY
    if found["value_ohm"] is not None and D(found["value_ohm"]) < 0:
        assert found["outcome"] == CANNOT
