"""Running a validation file: each case through the function of its command, each expected value beside what came out.

The same functions answer the commands `working`, `dates` and `calculate`; nothing here computes.
"""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

import inspections.calculations
import inspections.rules
from inspections.cases import calculate, dates, working
from inspections.cases.reading_case import CaseError, JsonNumber, Section, read_case
from inspections.cases.validation_case import (
    REFUSED,
    WORDS,
    Tolerance,
    ValidationCase,
    at_place,
    cases_of,
)

SHIPPED = Path(__file__).resolve().parent.parent.parent / "fixtures" / "validation"
ANSWERS: dict[str, Callable[[Section], dict[str, Any]]] = {
    "working": working.work,
    "dates": dates.answer,
    "calculate": calculate.answer,
}
EXACT = "equal"
NOTHING_THERE = "nothing at this place"


@dataclass(frozen=True, slots=True)
class Check:
    """One expected value of one case, and what came out; every text as it is printed."""

    case: ValidationCase
    place: str
    expected: str
    got: str
    tolerance: str
    agrees: bool


def shipped_files() -> list[Path]:
    """The files of cases that come with the product."""
    return sorted(SHIPPED.glob("*.json"))


def shipped_cases() -> list[ValidationCase]:
    """The cases that come with the product, by file and in the order of each."""
    return [case for path in shipped_files() for case in cases_in(path)]


def cases_in(path: str | Path) -> list[ValidationCase]:
    """The cases of one file. Raises: CaseError with a sentence for the person who wrote it"""
    return cases_of(read_case(path), tuple(ANSWERS))


def run(cases: Iterable[ValidationCase]) -> list[Check]:
    """Every expected value of every case, checked."""
    return [check for case in cases for check in _checks(case)]


def _checks(case: ValidationCase) -> list[Check]:
    try:
        answer = ANSWERS[case.command](Section(case.input, ""))
    except CaseError as error:
        return [_refused(case, place, wanted, str(error)) for place, wanted in case.expected.items()]
    return [_check(case, place, wanted, answer) for place, wanted in case.expected.items()]


def _refused(case: ValidationCase, place: str, wanted: Any, sentence: str) -> Check:
    agrees = place == REFUSED and isinstance(wanted, str) and wanted in sentence
    shown = f"refused: …{wanted}…" if place == REFUSED else _shown(wanted)
    return Check(case, place, shown, f"refused: {sentence}", EXACT, agrees)


def _check(case: ValidationCase, place: str, wanted: Any, answer: dict[str, Any]) -> Check:
    if place == REFUSED:
        return Check(case, place, f"refused: …{_shown(wanted)}…", "an answer", EXACT, False)
    there, got = at_place(answer, place)
    tolerance = case.tolerance.get(place)
    agrees = there and _agree(wanted, got, tolerance)
    told = EXACT if tolerance is None else f"± {tolerance.text}"
    return Check(case, place, _shown(wanted), _shown(got) if there else NOTHING_THERE, told, agrees)


def _agree(wanted: Any, got: Any, tolerance: Tolerance | None) -> bool:
    if isinstance(wanted, dict):
        return _words_agree(wanted, got)
    if isinstance(wanted, list):
        same = isinstance(got, list) and len(got) == len(wanted)
        return same and all(_agree(w, g, tolerance) for w, g in zip(wanted, got, strict=True))
    if wanted is None or isinstance(wanted, bool) or got is None or isinstance(got, bool):
        return wanted is got
    numbers = _number(wanted), _number(got)
    if numbers[0] is None or numbers[1] is None:
        return str(wanted) == str(got)
    (expected, unit), (found, found_unit) = numbers[0], numbers[1]
    return unit == found_unit and abs(found - expected) <= _allowed(expected, tolerance)


def _allowed(expected: Decimal, tolerance: Tolerance | None) -> Decimal:
    if tolerance is None:
        return Decimal(0)
    return abs(expected) * tolerance.size / 100 if tolerance.relative else tolerance.size


def _number(value: Any) -> tuple[Decimal, str] | None:
    """`47.1239 ohm*m` as number and unit; a day or a word is no number."""
    if not isinstance(value, str | int):
        return None
    first, _, unit = str(value).partition(" ")
    try:
        number = Decimal(first)
    except InvalidOperation:
        return None
    return (number, unit) if number.is_finite() else None


def _words_agree(wanted: dict[str, Any], got: Any) -> bool:
    """holds: some text has these words; lacks: no text has them; count: so many entries."""
    texts = _texts(got)
    tests: dict[str, Callable[[Any], bool]] = {
        "holds": lambda words: any(words in text for text in texts),
        "lacks": lambda words: not any(words in text for text in texts),
        "count": lambda number: isinstance(got, list) and len(got) == int(number),
    }
    return bool(wanted) and all(
        key in WORDS and isinstance(value, str) and tests[key](value) for key, value in wanted.items()
    )


def _texts(got: Any) -> list[str]:
    if isinstance(got, dict):
        return [text for value in got.values() for text in _texts(value)]
    if isinstance(got, list):
        return [text for value in got for text in _texts(value)]
    return [str(got).replace("\u00a0", " ")]


def _shown(value: Any) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "; ".join(f"{key} “{part}”" if key in WORDS else key for key, part in value.items())
    if isinstance(value, list):
        return f"{len(value)} entries" if len(value) > 4 else f"[{', '.join(_shown(part) for part in value)}]"
    return str(value) if isinstance(value, JsonNumber) or value else str(value) or "“”"


def code_files() -> list[Path]:
    """The files that a verdict, a due day or a formula comes from, in the order of their paths."""
    folders = (inspections.calculations.__path__[0], inspections.rules.__path__[0])
    return sorted(path for folder in folders for path in Path(folder).rglob("*.py"))


def code_sha256() -> str:
    """SHA-256 of the list of those files with the SHA-256 of each, so that a person can make it again:

    find inspections/calculations inspections/rules -name '*.py' | LC_ALL=C sort | xargs sha256sum | sha256sum
    """
    root = Path(inspections.calculations.__path__[0]).parent.parent
    return list_sha256((path.relative_to(root).as_posix(), path) for path in code_files())


def list_sha256(files: Iterable[tuple[str, Path]]) -> str:
    """SHA-256 of a list of files as sha256sum prints it, sorted by the names given."""
    rows = sorted((name, hashlib.sha256(path.read_bytes()).hexdigest()) for name, path in files)
    return hashlib.sha256("".join(f"{digest}  {name}\n" for name, digest in rows).encode()).hexdigest()
