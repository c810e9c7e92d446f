"""One case of a validation file: what is checked, against which source, its input, and what must come out.

    {"starting_points": {"bond": {...a whole working case...}},
     "cases": [{"id": "w-01", "command": "working", "checks": "the limit itself is within",
                "source": "ILAC-G8:09/2019, simple acceptance", "status": "seen as reproduced",
                "input": {"like": "bond", "with": {"reading.text": "20.00"}, "without": ["reading.null"]},
                "expected": {"outcome": "within limit", "corrected_ohm": "0.02"},
                "tolerance": {"corrected_ohm": "0.0000001"}, "why": "..."}]}

`input` is a whole case, or one `like` a starting point `with` other values at some places and `without` some keys.
`expected` names places in the answer: a value, or {"holds": words}, {"lacks": words}, {"count": n}. A case that must
be refused expects {"refused": words of the sentence}. `tolerance` names the expected places that need one, as a number
in the place's own unit or a percentage of the value expected (`0.05 %`); without it a place must be equal.
"""

import copy
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inspections.cases.reading_case import CaseError, Section

REFUSED = "refused"
WORDS = ("holds", "lacks", "count")
_STEP = re.compile(r"([^.\[\]]+)|\[([0-9]+)\]")
_MISSING: Any = object()


@dataclass(frozen=True, slots=True)
class Tolerance:
    """size: in the unit of the place, or percent of the value expected. text: as it was written."""

    size: Decimal
    relative: bool
    text: str


@dataclass(frozen=True, slots=True)
class ValidationCase:
    """input: a whole case of the command. expected: place in the answer -> value as the file has it.

    given: the input as the file writes it, in one line for people.
    """

    id: str
    command: str
    checks: str
    source: str
    status: str
    input: dict[str, Any]
    given: str
    expected: Mapping[str, Any]
    tolerance: Mapping[str, Tolerance]
    why: str


def cases_of(file: Section, commands: tuple[str, ...]) -> list[ValidationCase]:
    """Every case of a validation file. Raises: CaseError naming the place of what is wrong"""
    file.expect(required=["cases"], optional=["title", "starting_points"])
    starts: dict[str, Any] = {}
    if file.has("starting_points"):
        starts = file.need_section("starting_points").data
    found = [_case(section, starts, commands) for section in file.sections("cases")]
    if not found:
        raise CaseError("cases: this is empty. Write at least one case.")
    seen: set[str] = set()
    for case in found:
        if case.id in seen:
            raise CaseError(f"cases: “{case.id[:60]}” stands twice. Give each case its own id.")
        seen.add(case.id)
    return found


def _case(section: Section, starts: dict[str, Any], commands: tuple[str, ...]) -> ValidationCase:
    section.expect(
        required=["id", "command", "checks", "source", "status", "input", "expected"],
        optional=["tolerance", "why"],
    )
    expected = section.need_section("expected")
    if not expected.data:
        section.fail("expected", "this is empty. Write at least one place of the answer and its value.")
    for place, value in expected.data.items():
        if isinstance(value, dict):
            _words(expected, place, value)
    tolerance = _tolerance(section, expected)
    why = section.text("why", nullable=True) or ""
    if tolerance and not why:
        section.fail("why", "a tolerance needs a reason: say why the value need not be equal.")
    return ValidationCase(
        id=section.text("id"),
        command=section.choice("command", commands),
        checks=section.text("checks"),
        source=section.text("source"),
        status=section.text("status"),
        input=_input(section.need_section("input"), starts),
        given=_told(section.need_section("input").data),
        expected=expected.data,
        tolerance=tolerance,
        why=why,
    )


def _words(expected: Section, place: str, value: dict[str, Any]) -> None:
    if not value or not set(value) <= set(WORDS):
        expected.fail(place, f"write a value, or an object with: {', '.join(WORDS)}.")
    words = Section(value, expected.at(place))
    for key in value:
        if key == "count":
            words.whole(key, at_least=0)
        else:
            words.text(key)


def _tolerance(section: Section, expected: Section) -> dict[str, Tolerance]:
    given = section.section("tolerance", nullable=True) if "tolerance" in section.data else None
    if given is None:
        return {}
    for place in given.data:
        if place not in expected.data:
            given.fail(place, "there is a tolerance and no expected value at this place.")
    return {place: _one_tolerance(given, place) for place in given.data}


def _one_tolerance(given: Section, place: str) -> Tolerance:
    text = given.text(place)
    relative = text.endswith("%")
    size = given.decimal_of(place, text.removesuffix("%").strip(), at_least=0)
    return Tolerance(size, relative, text)


def _input(section: Section, starts: dict[str, Any]) -> dict[str, Any]:
    if "like" not in section.data:
        return section.data
    section.expect(required=["like"], optional=["with", "without"])
    start = starts.get(section.text("like"))
    if not isinstance(start, dict):
        section.fail("like", f"there is no starting point “{section.data['like'][:60]}” in this file.")
    whole: dict[str, Any] = copy.deepcopy(start)
    if section.has("with"):
        for place, value in section.need_section("with").data.items():
            _put(section, whole, place, copy.deepcopy(value))
    for place in section.texts("without", nullable=True) if section.has("without") else []:
        _put(section, whole, place, _MISSING)
    return whole


def _told(given: dict[str, Any]) -> str:
    if "like" not in given:
        return _one_line(given)
    changes = [f"{place} {_one_line(value)}" for place, value in (given.get("with") or {}).items()]
    changes += [f"without {place}" for place in given.get("without") or []]
    return f"{given['like']}: {', '.join(changes)}" if changes else f"{given['like']}"


def _one_line(value: Any) -> str:
    """A value as JSON would write it, without quotes and with its numbers as they stand in the file."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_one_line(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_one_line(part) for part in value) + "]"
    return "null" if value is None else str(value).lower() if isinstance(value, bool) else str(value)


def _put(section: Section, whole: dict[str, Any], place: str, value: Any) -> None:
    """Sets a value at a place such as `reading.text` or `visits[0].kind`, or takes the key out."""
    *path, last = steps_of(place) or [0]  # a text without steps names no key
    holder: Any = whole
    for step in path:
        holder = _inside(holder, step)
    if isinstance(last, str) and isinstance(holder, dict):
        if value is _MISSING:
            holder.pop(last, None)
        else:
            holder[last] = value
    elif isinstance(last, int) and isinstance(holder, list) and last < len(holder) and value is not _MISSING:
        holder[last] = value
    else:
        section.fail("with", f"there is no place “{place[:60]}” in the starting point.")


def steps_of(place: str) -> list[str | int]:
    """`obligations[0].due` as its steps: keys as text, places in lists as numbers."""
    return [int(number) if number else key for key, number in _STEP.findall(place)]


def _inside(holder: Any, step: str | int) -> Any:
    if isinstance(step, str):
        return holder.get(step, _MISSING) if isinstance(holder, dict) else _MISSING
    return holder[step] if isinstance(holder, list) and step < len(holder) else _MISSING


def at_place(answer: Any, place: str) -> tuple[bool, Any]:
    """Whether the answer has this place, and what stands there."""
    found = answer
    for step in steps_of(place):
        found = _inside(found, step)
    return (False, None) if found is _MISSING else (True, found)
