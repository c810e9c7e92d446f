"""The optional key `dropped` of a `working` case: displays left out, each with its reason."""

import json

import pytest

from inspections.cases.reading_case import CaseError, parse_case
from inspections.cases.working import work
from tests.inspections.cases.working_example import example


def answer(**changes):
    return work(parse_case(json.dumps(example(**changes))))


def test_it_takes_displays_left_out_with_their_reasons():
    found = answer(reading__dropped=[{"text": "7.91", "reason": "clip had slipped"}])
    assert "Left out: 7.91, because: clip had slipped." in [line["text"] for line in found["lines"]]
    assert list(found) == list(answer())
    assert found["corrected_ohm"] == answer()["corrected_ohm"]


@pytest.mark.parametrize("nothing", [None, []])
def test_it_may_be_empty_or_null(nothing):
    assert answer(reading__dropped=nothing) == answer()


@pytest.mark.parametrize(
    ("dropped", "place"),
    [
        ([{"text": "7.91"}], "reading.dropped[0].reason"),
        ([{"text": "7.91", "reason": " "}], "reading.dropped[0].reason"),
        ([{"text": "7,9.1", "reason": "slipped"}], "reading.dropped[0].text"),
        ([{"text": "7.91", "reason": "slipped", "by": "x"}], "reading.dropped[0].by"),
        (["7.91"], "reading.dropped[0]"),
        ("7.91", "reading.dropped"),
    ],
)
def test_it_names_what_is_wrong_in_one_sentence(dropped, place):
    with pytest.raises(CaseError) as caught:
        answer(reading__dropped=dropped)
    assert str(caught.value).startswith((f"{place} ", f"{place}: "))
