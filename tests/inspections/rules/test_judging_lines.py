"""Each printed sum recomputes by hand from what is printed in it and above it."""

import ast
import math
import operator
import re
from datetime import date, datetime, timezone
from decimal import Decimal as D

import pytest

from inspections.materials import material
from inspections.rules.judging import EarlierReading, Verdict
from tests.inspections.rules.judging_example import earth_judged, judged

_SUM = re.compile(r"([0-9(√−][0-9()√.,×/+−%² /]*?) = (−?[0-9.]+)")
_OPERATIONS = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}  # fmt: skip


def by_hand(text: str) -> float:
    """A printed sum worked out as a person would."""
    text = text.replace("%", "/100").replace("×", "*").replace("−", "-").replace("²", "**2")
    text = re.sub(r"√(\d+)", lambda m: repr(math.sqrt(int(m[1]))), text)
    text = re.sub(r"√(\(.*\))", r"(\1)**0.5", text)
    return _work_out(ast.parse(text.strip(), mode="eval").body)


def _work_out(node) -> float:
    if isinstance(node, ast.BinOp):
        return _OPERATIONS[type(node.op)](_work_out(node.left), _work_out(node.right))
    if isinstance(node, ast.UnaryOp):
        return -_work_out(node.operand)
    return float(node.value)


def sums(verdict: Verdict) -> list[tuple[str, str]]:
    found = []
    for line in verdict.lines:
        text = line.text.replace("\u00a0", " ").replace(" (taken as this one's)", "")
        text = re.sub(r"(?<=[0-9]) (mΩ|Ω)(?= [×−+/±<>≤≥])", "", text)
        found += _SUM.findall(text)
    return found


HISTORY = (EarlierReading(date(2026, 5, 2), D("0.00460"), None, "four-wire", True),)
VERDICTS = {
    "plain": judged(history=HISTORY),
    "corrected": judged(reading={"temperature_c": D(35), "temperature_accuracy_k": D(1)}, history=HISTORY),
    "to 25": judged(reading={"temperature_c": D("-4.5")}, limit={"reference_temperature_c": D(25)}),
    "everything": judged(
        reading={
            "text": "5.21", "repeats": ("5.11", "5.32"), "reversed": ("-4.97",), "null_ohm": D("0.00013"),
            "temperature_c": D("7.5"), "temperature_accuracy_k": None,
        },
        limit={"repeats": 3, "decision": "guarded", "guard": D("0.83")},
        history=HISTORY,
    ),
    "three steps": judged(reading={"reversed": ("-4.90", "5.04")}, limit={"decision": "four-way"}),
    "coarse": judged(reading={"text": "0.01", "unit": "ohm", "step_ohm": D("0.01")}, limit={"limit_ohm": D("0.015")}),
    "below": judged(reading={"text": "<0.01", "temperature_c": D(-10)}),
    "over": judged(reading={"text": "OL", "null_ohm": D("0.0002"), "temperature_c": D(40)}),
    "not taken": judged(reading={"temperature_c": None}, limit={"limit_ohm": D("0.0055")}),
    "plateau": earth_judged(reading={"positions": ((D(52), "57.5"), (D(62), "58.0"), (D(72), "59.0"))}),
    "own metal": judged(point={"material": material("aluminium")}, reading={"temperature_c": D(31)}),
}  # fmt: skip


@pytest.mark.parametrize("name", VERDICTS)
def test_it_prints_sums_that_recompute_by_hand(name):
    """Six significant digits are printed, so a sum of a few of them agrees to about 1 in 50 000."""
    found = sums(VERDICTS[name])
    assert len(found) >= 2
    for left, right in found:
        assert by_hand(left) == pytest.approx(by_hand(right), rel=2e-5, abs=1e-9), (left, right)


def test_it_can_fail_on_a_wrong_sum():
    assert by_hand("(0.5 % × 5.00 + 2 × 0.01) × 0.944332 / √3") == pytest.approx(0.0245345, rel=1e-5)
    assert by_hand("(0.82 − (−0.46)) / 2") == pytest.approx(0.64)


def test_it_prints_the_combined_uncertainty_of_the_parts_above_it():
    texts = [
        line.text.replace("\u00a0", " ") for line in VERDICTS["corrected"].lines if line.step == "uncertainty"
    ]
    parts = [float(re.search(r" = ([0-9.]+) mΩ", text)[1]) for text in texts]
    assert math.sqrt(sum(part**2 for part in parts[:-1])) == pytest.approx(parts[-1], rel=1e-5)


def test_it_changes_only_the_lines_that_a_change_of_temperature_touches():
    cool, warm = judged(), judged(reading={"temperature_c": D(25)})
    touched = {a.step for a, b in zip(cool.lines, warm.lines, strict=True) if a != b}
    assert touched == {"temperature", "uncertainty", "decision", "plausibility"}


def test_it_shows_days_with_the_month_in_letters_and_a_no_break_space_before_units():
    text = VERDICTS["plain"].lines[0].text
    assert "3 May 2027" in text
    assert "5.00\u00a0mΩ" in text


def test_it_prints_what_was_recorded_beside_the_reading():
    verdict = judged(
        reading={
            "waited_s": D(30),
            "joint_state": "open",
            "null_ohm": D("0.0001"),
            "null_taken_at": datetime(2027, 5, 3, 9, 5, tzinfo=timezone.utc),  # noqa: UP017
            "open_circuit_voltage_v": D(6),
        }
    )
    text = " ".join(line.text.replace("\u00a0", " ") for line in verdict.lines)
    for words in ("settled for 30 s", "Joint: open", "null was taken on 3 May 2027 at 09:05", "voltage 6 V"):
        assert words in text
