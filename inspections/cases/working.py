"""The case `working`: a reading, its rule, its instrument and its history become a verdict."""

from decimal import Context, Decimal
from typing import Any

from inspections.calculations.display import LONGEST_NUMBER
from inspections.calculations.printing import NBSP, plain, resistance, resistance_unit
from inspections.cases.reading_case import CaseError, Section
from inspections.cases.working_facts import (
    earlier_reading,
    instrument_facts,
    limit_facts,
    point_facts,
    reading_facts,
)
from inspections.rules.judging import Verdict, judge

TEN_DIGITS = Context(prec=10)


def work(case: Section) -> dict[str, Any]:
    """The answer to a whole case, as `--json` prints it. Raises: CaseError"""
    return answer(verdict_of(case))


def verdict_of(case: Section) -> Verdict:
    """The verdict on a whole case. Raises: CaseError"""
    case.expect(required=["point", "rule", "instrument", "reading", "history"])
    facts = (
        point_facts(case.need_section("point")),
        limit_facts(case.need_section("rule")),
        instrument_facts(case.need_section("instrument")),
        reading_facts(case.need_section("reading")),
        tuple(earlier_reading(section) for section in case.sections("history")),
    )
    try:
        return judge(*facts)
    except ValueError as error:
        raise CaseError(f"reading: {error}") from None


def decimal_text(number: Decimal | None) -> str | None:
    """Decimal text without an exponent: exact where it is short, else ten significant digits.

    >>> decimal_text(Decimal("0.00500")), decimal_text(Decimal(1) / Decimal(3))
    ('0.00500', '0.3333333333')
    """
    if number is None:
        return None
    short = len(number.as_tuple().digits) <= LONGEST_NUMBER
    return format(number if short else TEN_DIGITS.plus(number), "f")


def answer(verdict: Verdict) -> dict[str, Any]:
    """A verdict as the answer's object."""
    change = verdict.change
    return {
        "outcome": verdict.outcome,
        "statement": verdict.statement,
        "reason": verdict.reason,
        "value_ohm": decimal_text(verdict.value_ohm),
        "corrected_ohm": decimal_text(verdict.corrected_ohm),
        "uncertainty_ohm": decimal_text(verdict.uncertainty_ohm),
        "lower_ohm": decimal_text(verdict.lower_ohm),
        "upper_ohm": decimal_text(verdict.upper_ohm),
        "limit_ohm": decimal_text(verdict.limit_ohm),
        "change": {
            "state": change.state,
            "percent": decimal_text(change.percent),
            "baseline_percent": decimal_text(change.baseline_percent),
        },
        "lines": [{"step": line.step, "text": line.text, "source": line.source} for line in verdict.lines],
        "questions": list(verdict.questions),
    }


def readable(found: dict[str, Any]) -> str:
    """The answer for people: the outcome first, then the working and the questions."""
    text = [f"Outcome: {found['outcome']}", *_facts(found), "", "Working"]
    width = max(len(line["step"]) for line in found["lines"])
    for line in found["lines"]:
        source = f"  [{line['source']}]" if line["source"] else ""
        text.append(f"  {line['step']:<{width}}  {line['text']}{source}")
    if found["questions"]:
        text += ["", "Questions", *(f"  {question}" for question in found["questions"])]
    return "\n".join(text)


def _facts(found: dict[str, Any]) -> list[str]:
    facts = []
    if found["statement"]:
        facts.append(f"Statement: {found['statement']}")
    if found["reason"]:
        facts.append(f"Because: {found['reason']}")
    if found["corrected_ohm"] is not None:
        facts.append(f"Result: {_result(Decimal(found['corrected_ohm']), found['uncertainty_ohm'])}")
    if found["limit_ohm"] is not None:
        facts.append(f"Limit: {resistance(Decimal(found['limit_ohm']))}")
    change = found["change"]
    percent = change["percent"] and f", {plain(Decimal(change['percent']), 3)}{NBSP}%"
    return [*facts, f"Change: {change['state']}{percent or ''}"]


def _result(corrected_ohm: Decimal, uncertainty_ohm: str | None) -> str:
    unit = resistance_unit(corrected_ohm)
    value = resistance(corrected_ohm, unit, 5)
    return value if uncertainty_ohm is None else f"{value} ± {resistance(Decimal(uncertainty_ohm), unit, 3)}"
