"""The command `working`, from a file to an answer or a sentence. No test here is allowed a database."""

import json
import os
import subprocess
import sys
from decimal import Decimal as D
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from inspections.cases.reading_case import CaseError, parse_case
from inspections.cases.working import decimal_text, readable, work
from tests.inspections.cases.working_example import REMOVE, example

ROOT = Path(__file__).resolve().parents[3]


def answer(**changes):
    return work(parse_case(json.dumps(example(**changes))))


def refusal(**changes) -> str:
    with pytest.raises(CaseError) as caught:
        answer(**changes)
    return str(caught.value)


# ------------------------------------------------------------------ the answer


def test_it_gives_the_worked_example_of_the_case_format():
    found = answer()
    rounded = {
        key: round(D(found[key]), 7) for key in ("corrected_ohm", "uncertainty_ohm", "lower_ohm", "upper_ohm")
    }
    assert rounded == {
        "corrected_ohm": D("0.0047217"),
        "uncertainty_ohm": D("0.0000534"),
        "lower_ohm": D("0.0046683"),
        "upper_ohm": D("0.0047750"),
    }
    assert (found["outcome"], found["statement"], found["reason"]) == ("within limit", None, "")
    assert (found["value_ohm"], found["limit_ohm"]) == ("0.00500", "0.020")
    assert found["change"]["state"] == "risen"
    assert {round(D(found["change"][key]), 1) for key in ("percent", "baseline_percent")} == {D("2.6")}
    assert found["questions"] == []


def test_it_has_exactly_the_keys_of_the_format_in_their_order():
    found = answer()
    assert list(found) == [
        "outcome", "statement", "reason", "value_ohm", "corrected_ohm", "uncertainty_ohm", "lower_ohm",
        "upper_ohm", "limit_ohm", "change", "lines", "questions",
    ]  # fmt: skip
    assert list(found["change"]) == ["state", "percent", "baseline_percent"]
    assert {tuple(line) for line in found["lines"]} == {("step", "text", "source")}


def test_it_gives_null_where_there_is_no_value():
    found = answer(reading__text="OL", history=[])
    assert {found[key] for key in ("value_ohm", "corrected_ohm", "uncertainty_ohm", "lower_ohm")} == {None}
    assert found["change"] == {"state": "first reading", "percent": None, "baseline_percent": None}


@pytest.mark.parametrize(
    ("number", "text"),
    [
        ("0.00500", "0.00500"),
        ("1E+3", "1000"),
        ("1E-9", "0.000000001"),
        ("0", "0"),
        ("-0.00002", "-0.00002"),
        ("0.004721658246376127295906322300", "0.004721658246"),
        ("123456789012345678", "123456789012345678"),
    ],
)
def test_it_writes_decimals_without_an_exponent(number, text):
    assert decimal_text(D(number)) == text


def test_it_reads_the_smallest_and_the_largest_resistances():
    tiny = answer(reading__text="0.001", reading__unit="µΩ", reading__step="0.001 µΩ", rule__limit="1 µΩ")
    assert tiny["value_ohm"] == "0.000000001"
    huge = answer(reading__text="5.00", reading__unit="Mohm", reading__step="0.01 MΩ", rule__limit="1 MΩ")
    assert D(huge["value_ohm"]) == 5000000


@pytest.mark.parametrize(
    "changes",
    [
        {"point__material": None},
        {"point__length": REMOVE, "point__section": REMOVE, "point__parallel_paths": REMOVE},
        {"rule__guard": REMOVE, "rule__repeats": REMOVE, "rule__allowed_spread_percent": REMOVE},
        {"rule__minimum_current": None, "reading__current": None},
        {
            "rule__reference_temperature": None,
            "reading__temperature": None,
            "reading__temperature_source": None,
        },
        {"reading__temperature_accuracy": None},
        {"reading__repeats": REMOVE, "reading__reversed": REMOVE, "reading__null": REMOVE},
        {"reading__repeats": None, "reading__reversed": []},
        {"reading__positions": None, "reading__waited": "10 s", "reading__joint_state": "open"},
        {"reading__null": "0.02 mohm", "reading__null_taken_at": "2027-05-03T09:00:00Z"},
        {"rule__open_circuit_voltage": ["4 V", "24 V"], "reading__open_circuit_voltage": "6 V"},
        {"rule__guard": 1, "instrument__accuracy": {"percent_of_reading": 0.5, "digits": 2}},
        {"history": [], "point__material": {"alpha": "0.00427 / K", "at": "0 degC"}},
        {"point__material": "aluminium"},
        {"history": [{"on": "2026-05-02", "corrected": "4.60 mohm", "method": "four-wire"}]},
    ],
)
def test_it_takes_what_may_be_left_out_or_null(changes):
    unjudged = changes.get("point__material", "") is None
    assert answer(**changes)["outcome"] == ("cannot be judged" if unjudged else "within limit")


def test_it_reads_a_plateau():
    found = answer(
        point={"quantity": "earth"},
        rule={
            "limit": "100 ohm",
            "reference_temperature": None,
            "decision": "simple",
            "methods": ["fall-of-potential"],
            "minimum_current": None,
        },
        reading__method="fall-of-potential",
        reading__text="58.0",
        reading__unit="ohm",
        reading__step="0.1 ohm",
        reading__range_top="200 ohm",
        reading__positions=[
            {"percent": "52", "text": "57.5"},
            {"percent": "62", "text": "58.0"},
            {"percent": 72, "text": "59.0"},
        ],
        history=[],
    )
    assert found["outcome"] == "within limit"
    assert round(D(found["value_ohm"]), 3) == D("58.167")


def test_it_takes_a_coefficient_of_its_own():
    """(1 + 0.00427 · 20) / (1 + 0.00427 · 35) · 5 = 4.72136 mΩ."""
    found = answer(point__material={"alpha": "0.00427 / K", "at": "0 degC"})
    assert float(found["corrected_ohm"]) == pytest.approx(0.005 * 1.0854 / 1.14945, rel=1e-9)


# ------------------------------------------------------------------ one sentence for whatever is wrong


@pytest.mark.parametrize(
    ("changes", "place", "words"),
    [
        ({"extra": 1}, "extra", "not a key"),
        ({"point__colour": "red"}, "point.colour", "not a key"),
        ({"instrument__accuracy": {"percent_of_reading": "1", "digits": "1", "x": 1}}, "instrument.accuracy.x", "key"),
        ({"history": REMOVE}, "history", "missing"),
        ({"reading__at": REMOVE}, "reading.at", "missing"),
        ({"reading__current": REMOVE}, "reading.current", "missing"),
        ({"rule__minimum_current": REMOVE}, "rule.minimum_current", "missing"),
        ({"point__quantity": None}, "point.quantity", "null"),
        ({"rule__decision": None}, "rule.decision", "null"),
        ({"rule__guard": None}, "rule.guard", "null"),
        ({"history": None}, "history", "null"),
        ({"instrument__accuracy": None}, "instrument.accuracy", "null"),
        ({"point__quantity": "fence"}, "point.quantity", "one of"),
        ({"rule__decision": "kind"}, "rule.decision", "one of"),
        ({"rule__methods": ["four-wire", "guess"]}, "rule.methods[1]", "one of"),
        ({"rule__methods": "four-wire"}, "rule.methods", "list"),
        ({"rule__limit": 20}, "rule.limit", "text with a unit"),
        ({"rule__limit": "20"}, "rule.limit", "no unit"),
        ({"rule__limit": "20 mV"}, "rule.limit", "mV"),
        ({"rule__limit": "0 mohm"}, "rule.limit", "above zero"),
        ({"rule__limit": "-20 mohm"}, "rule.limit", "above zero"),
        ({"rule__guard": "-1"}, "rule.guard", "less than"),
        ({"rule__repeats": 0}, "rule.repeats", "less than"),
        ({"rule__repeats": "3"}, "rule.repeats", "whole number"),
        ({"rule__repeats": 1.5}, "rule.repeats", "whole number"),
        ({"rule__repeats": True}, "rule.repeats", "whole number"),
        ({"rule__open_circuit_voltage": ["24 V", "4 V"]}, "rule.open_circuit_voltage", "lower first"),
        ({"rule__open_circuit_voltage": ["4 V"]}, "rule.open_circuit_voltage", "two voltages"),
        ({"rule__reference_temperature": "20 K"}, "rule.reference_temperature", "°C"),
        ({"point__material": "unobtainium"}, "point.material", "materials table"),
        ({"point__material": {"alpha": "0.004"}}, "point.material.at", "missing"),
        ({"point__material": {"alpha": "0.004", "at": "0 degC"}}, "point.material.alpha", "no unit"),
        ({"point__material": 3}, "point.material", "text"),
        ({"point__length": "15 mm²"}, "point.length", "mm²"),
        ({"point__parallel_paths": "no"}, "point.parallel_paths", "true or false"),
        ({"instrument__calibrated_on": "2027-02-30"}, "instrument.calibrated_on", "not a day"),
        ({"instrument__calibrated_on": "20270110"}, "instrument.calibrated_on", "not a day"),
        ({"instrument__valid_until": "2026-01-09"}, "instrument.valid_until", "before"),
        ({"reading__at": "2027-05-03T10:20:00"}, "reading.at", "offset"),
        ({"reading__at": "2027-05-03"}, "reading.at", "offset"),
        ({"reading__at": "2027-05-03T25:20:00+01:00"}, "reading.at", "offset"),
        ({"reading__text": ""}, "reading.text", "empty"),
        ({"reading__text": 5}, "reading.text", "text in quotes"),
        ({"reading__text": "1,234.5"}, "reading.text", "point and a comma"),
        ({"reading__text": "5 000"}, "reading.text", "grouped"),
        ({"reading__repeats": ["5.00", "five"]}, "reading.repeats[1]", "plain number"),
        ({"reading__repeats": [5]}, "reading.repeats[0]", "text in quotes"),
        ({"reading__reversed": ["1", "2", "3"]}, "reading.reversed", "two"),
        ({"reading__reversed": "x"}, "reading.reversed", "plain number"),
        ({"reading__unit": "mV"}, "reading.unit", "mV"),
        ({"reading__unit": "MOHM"}, "reading.unit", "capitals"),
        ({"reading__step": "0 mohm"}, "reading.step", "above zero"),
        ({"reading__temperature": "35"}, "reading.temperature", "no unit"),
        ({"reading__temperature": "-300 degC"}, "reading.temperature", "outside"),
        ({"reading__temperature_source": "guess"}, "reading.temperature_source", "one of"),
        ({"reading__temperature_accuracy": "-1 K"}, "reading.temperature_accuracy", "below zero"),
        ({"reading__null": "-1 mohm"}, "reading.null", "below zero"),
        ({"reading__positions": [{"percent": "120", "text": "1"}]}, "reading.positions[0].percent", "between"),
        ({"reading__positions": [{"percent": "52", "text": "x"}]}, "reading.positions[0].text", "plain number"),
        ({"history": [{"on": "2026-05-02", "corrected": "4 mohm"}]}, "history[0].method", "missing"),
        ({"history": ["x"]}, "history[0]", "object"),
        ({"point": []}, "point", "object"),
        ({"reading__joint_state": "\ud800"}, "reading.joint_state", "surrogate"),
    ],
)  # fmt: skip
def test_it_names_the_place_of_whatever_is_wrong_in_one_sentence(changes, place, words):
    sentence = refusal(**changes)
    assert sentence.startswith((f"{place} ", f"{place}: "))
    assert words in sentence
    assert sentence.endswith((".", "…"))
    assert "\n" not in sentence


# ------------------------------------------------------------------ the command


def test_it_prints_a_working_for_people():
    text = readable(answer())
    assert text.startswith("Outcome: within limit\nResult: 4.7217\u00a0mΩ ± 0.0534\u00a0mΩ\n")
    assert "Limit: 20\u00a0mΩ" in text
    assert "Change: risen" in text
    assert "Questions" not in text
    assert "Questions" in readable(answer(reading__text="0.40"))
    assert "Because: " in readable(answer(reading__method="two-wire"))
    assert "Statement: pass" in readable(answer(rule__decision="four-way"))


def test_it_answers_from_a_file_without_the_database(tmp_path):
    """The test has no database mark, so that any query would fail it."""
    path = tmp_path / "case.json"
    path.write_text(json.dumps(example()), encoding="utf-8")
    out = StringIO()
    call_command("working", str(path), "--json", stdout=out)
    assert json.loads(out.getvalue()) == answer()


def test_it_answers_on_a_console_of_an_old_encoding(tmp_path):
    path = tmp_path / "case.json"
    path.write_text(json.dumps(example()), encoding="utf-8")
    for arguments in ([], ["--json"]):
        run = subprocess.run(
            [sys.executable, str(ROOT / "manage.py"), "working", str(path), *arguments],
            env=os.environ | {"PYTHONIOENCODING": "ascii"},
            capture_output=True,
            text=True,
            check=False,
        )
        assert (run.returncode, run.stderr) == (0, "")
    assert json.loads(run.stdout) == answer()


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"[]",
        b"{",
        b"nonsense",
        b"\xff\xfe",
        b'{"point": NaN}',
        b'{"point": 1, "point": 2}',
        b"[" * 100000,
    ],
    ids=["empty", "list", "cut", "text", "bytes", "NaN", "twice", "deep"],
)
def test_it_ends_with_status_2_and_one_sentence_on_a_broken_file(tmp_path, content):
    path = tmp_path / "case.json"
    path.write_bytes(content)
    error = StringIO()
    with pytest.raises(SystemExit) as caught:
        call_command("working", str(path), stderr=error)
    assert caught.value.code == 2
    assert error.getvalue().strip().count("\n") == 0
    assert error.getvalue().strip().endswith(".")


@pytest.mark.parametrize(
    "arguments", [[], ["a.json", "b.json"], ["--yaml", "a.json"], ["missing.json"], ["."]], ids=str
)
def test_it_ends_with_status_2_and_one_sentence_from_the_command_line(tmp_path, arguments):
    run = subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "working", *arguments],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 2
    assert run.stdout == ""
    assert len(run.stderr.strip().splitlines()) == 1
    assert "Traceback" not in run.stderr
