"""Reading and running a validation file: what agrees, what differs, and a sentence for whatever is wrong in it."""

import json
import subprocess
from pathlib import Path

import pytest

from inspections.cases import validation
from inspections.cases.reading_case import CaseError
from inspections.cases.validation_case import at_place, steps_of
from tests.inspections.cases.working_example import example

ROOT = Path(__file__).resolve().parents[3]
CASE = {
    "id": "one",
    "command": "working",
    "checks": "one bond",
    "source": "our own sheet",
    "status": "computed",
    "input": example(),
    "expected": {"outcome": "within limit"},
}


def checks(tmp_path, *cases, **file):
    path = tmp_path / "cases.json"
    path.write_text(json.dumps({"cases": list(cases), **file}), encoding="utf-8")
    return validation.run(validation.cases_in(path))


def agrees(tmp_path, expected, **more):
    """Whether each expected place agrees."""
    return [check.agrees for check in checks(tmp_path, CASE | {"expected": expected} | more)]


@pytest.mark.parametrize(
    ("expected", "agree"),
    [
        ({"outcome": "within limit"}, True),
        ({"outcome": "above limit"}, False),
        ({"limit_ohm": "0.02"}, True),
        ({"limit_ohm": "0.0200"}, True),
        ({"limit_ohm": 0.02}, True),
        ({"limit_ohm": "0.021"}, False),
        ({"statement": None}, True),
        ({"statement": "pass"}, False),
        ({"reason": ""}, True),
        ({"questions": []}, True),
        ({"questions": ["a"]}, False),
        ({"questions": {"count": 0}}, True),
        ({"questions": {"count": 1}}, False),
        ({"lines": {"holds": "Simple"}}, False),
        ({"lines": {"holds": "Guarded"}}, True),
        ({"lines": {"lacks": "Guarded"}}, False),
        ({"lines[0].step": "present"}, True),
        ({"lines[0].text": {"holds": "5.00 mΩ"}}, True),
        ({"change.state": "risen"}, True),
        ({"change.colour": "red"}, False),
        ({"lines[99].step": "present"}, False),
        ({"value_ohm": True}, False),
        ({"refused": "text"}, False),
    ],
)
def test_it_compares_a_place_with_what_came_out(tmp_path, expected, agree):
    assert agrees(tmp_path, expected) == [agree]


@pytest.mark.parametrize(
    ("tolerance", "agree"),
    [("0.0000001", True), ("0.00000001", False), ("0.01 %", True), ("0.0001 %", False), ("0", False)],
)
def test_it_allows_the_tolerance_and_no_more(tmp_path, tolerance, agree):
    """Exactly 0.004721658…; expected 0.00472170: 4.2e-8 or 0.0009 % apart."""
    told = {"tolerance": {"corrected_ohm": tolerance}, "why": "read off a sheet"}
    assert agrees(tmp_path, {"corrected_ohm": "0.00472170"}, **told) == [agree]


def test_it_compares_quantities_with_their_units(tmp_path):
    rod = {"name": "wenner", "inputs": {"spacing": "3 m", "resistance": "2.5 ohm"}}
    told = {
        "command": "calculate",
        "input": rod,
        "tolerance": {"result.resistivity": "0.0001"},
        "why": "rounded",
    }
    assert agrees(tmp_path, {"result.resistivity": "47.1239 ohm*m"}, **told) == [True]
    assert agrees(tmp_path, {"result.resistivity": "47.1239 ohm*cm"}, **told) == [False]
    assert agrees(tmp_path, {"result.resistivity": "47.2 ohm*m"}, **told) == [False]


def test_it_knows_a_refusal_by_its_words(tmp_path):
    wrong = {"input": example(reading__text="1,234.5")}
    assert agrees(tmp_path, {"refused": "reading.text"}, **wrong) == [True]
    assert agrees(tmp_path, {"refused": "rule.limit"}, **wrong) == [False]
    (check,) = checks(tmp_path, CASE | wrong)
    assert not check.agrees
    assert check.got.startswith("refused: reading.text")


def test_it_changes_a_starting_point_without_touching_it_for_the_next_case(tmp_path):
    told = {
        "id": "two",
        "input": {"like": "bond", "with": {"reading.text": "21.00"}, "without": ["reading.null"]},
    }
    first = CASE | told | {"expected": {"outcome": "above limit", "value_ohm": "0.021"}}
    second = CASE | {"input": {"like": "bond"}, "expected": {"value_ohm": "0.005"}}
    found = checks(
        tmp_path, first, second, starting_points={"bond": example(rule__reference_temperature=None)}
    )
    assert [check.agrees for check in found] == [True, True, True]
    assert found[0].case.given == "bond: reading.text 21.00, without reading.null"


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"id": ""}, "cases[0].id"),
        ({"command": "guess"}, "cases[0].command"),
        ({"extra": 1}, "cases[0].extra"),
        ({"source": None}, "cases[0].source"),
        ({"input": []}, "cases[0].input"),
        ({"input": {"like": "x"}}, "cases[0].input.like"),
        ({"expected": {}}, "cases[0].expected"),
        ({"expected": {"questions": {"contains": "x"}}}, "cases[0].expected.questions"),
        ({"expected": {"questions": {"count": "two"}}}, "cases[0].expected.questions.count"),
        ({"expected": {"questions": {"holds": ""}}}, "cases[0].expected.questions.holds"),
        ({"tolerance": {"outcome": "1"}}, "cases[0].why"),
        ({"tolerance": {"corrected_ohm": "1"}, "why": "x"}, "cases[0].tolerance.corrected_ohm"),
        ({"tolerance": {"outcome": "about 1"}, "why": "x"}, "cases[0].tolerance.outcome"),
        ({"tolerance": {"outcome": "-1"}, "why": "x"}, "cases[0].tolerance.outcome"),
    ],
)
def test_it_names_the_place_of_whatever_is_wrong(tmp_path, change, place):
    with pytest.raises(CaseError) as caught:
        checks(tmp_path, CASE | change)
    assert str(caught.value).startswith((f"{place} ", f"{place}: "))
    assert str(caught.value).endswith(".")


@pytest.mark.parametrize(
    "place", ["reading.text.deep", "history[7].on", "history.first", "nowhere.text", "", "..", "[0]"]
)
def test_it_refuses_a_change_at_a_place_that_is_not_there(tmp_path, place):
    told = {"input": {"like": "bond", "with": {place: "x"}}}
    with pytest.raises(CaseError):
        checks(tmp_path, CASE | told, starting_points={"bond": example()})


def test_it_refuses_an_empty_file_and_a_name_twice(tmp_path):
    with pytest.raises(CaseError, match="at least one case"):
        checks(tmp_path)
    with pytest.raises(CaseError, match="stands twice"):
        checks(tmp_path, CASE, CASE)


def test_it_walks_to_a_place():
    assert steps_of("obligations[0].due") == ["obligations", 0, "due"]
    assert at_place({"a": [{"b": None}]}, "a[0].b") == (True, None)
    assert at_place({"a": []}, "a[0]") == (False, None)
    assert at_place({"a": "text"}, "a.b") == (False, None)


def test_it_hashes_the_code_as_a_person_would_with_sha256sum():
    line = "find inspections/calculations inspections/rules -name '*.py' | LC_ALL=C sort | xargs sha256sum | sha256sum"
    run = subprocess.run(["bash", "-c", line], cwd=ROOT, capture_output=True, text=True, check=True)
    assert run.stdout.split()[0] == validation.code_sha256()
    names = [path.name for path in validation.code_files()]
    assert {"chain.py", "uncertainty.py", "engine.py", "soil.py"} <= set(names)


def test_it_hashes_otherwise_when_a_file_or_its_name_changes(tmp_path):
    one, two = tmp_path / "one.py", tmp_path / "two.py"
    one.write_text("a = 1\n")
    two.write_text("b = 2\n")
    before = validation.list_sha256([("one.py", one), ("two.py", two)])
    assert before == validation.list_sha256([("two.py", two), ("one.py", one)])
    assert before != validation.list_sha256([("one.py", one), ("2.py", two)])
    two.write_text("b = 3\n")
    assert before != validation.list_sha256([("one.py", one), ("two.py", two)])
