"""One run of a validation file, with what it was run by: for the command's table, its JSON and its paper."""

import platform
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from inspections.cases.validation import (
    Check,
    cases_in,
    code_sha256,
    list_sha256,
    run,
    shipped_cases,
    shipped_files,
)
from inspections.rules.judging import CALCULATION_VERSION
from sites.archive.manifest import product_version

SHIPPED_NAME = "the cases that come with the product"
AGREES, DIFFERS = "agrees", "differs"
_WIDTHS = {"Case": 42, "Source": 38, "Input": 38, "Expected": 24, "Got": 24, "Tolerance": 15}


@dataclass(frozen=True, slots=True)
class ValidationRun:
    """cases_sha256: of the files of cases, listed as sha256sum prints them. at: when it was run, aware."""

    cases: str
    cases_sha256: str
    product_version: str
    calculation_version: str
    code_sha256: str
    python_version: str
    at: datetime
    checks: tuple[Check, ...]

    @property
    def case_count(self) -> int:
        return len({check.case.id for check in self.checks})

    @property
    def differing(self) -> list[Check]:
        return [check for check in self.checks if not check.agrees]


def validation(path: str | None, *, at: datetime) -> ValidationRun:
    """Run one's own file of cases, or the shipped ones. Raises: CaseError where the file cannot be used"""
    cases = shipped_cases() if path is None else cases_in(path)
    files = shipped_files() if path is None else [Path(path)]
    return ValidationRun(
        cases=SHIPPED_NAME if path is None else Path(path).name,
        cases_sha256=list_sha256((file.name, file) for file in files),
        product_version=product_version(),
        calculation_version=CALCULATION_VERSION,
        code_sha256=code_sha256(),
        python_version=platform.python_version(),
        at=at,
        checks=tuple(run(cases)),
    )


def as_json(done: ValidationRun) -> dict[str, Any]:
    """The run as one object of plain JSON values."""
    return {
        "product_version": done.product_version,
        "calculation_version": done.calculation_version,
        "calculation_sha256": done.code_sha256,
        "python_version": done.python_version,
        "date": done.at.isoformat(timespec="seconds"),
        "cases_from": done.cases,
        "cases_sha256": done.cases_sha256,
        "cases": done.case_count,
        "checks": len(done.checks),
        "differing": len(done.differing),
        "results": [_row(check) for check in done.checks],
    }


def _row(check: Check) -> dict[str, Any]:
    case = check.case
    return {
        "case": case.id,
        "command": case.command,
        "checks": case.checks,
        "source": case.source,
        "status": case.status,
        "input": case.input,
        "given": case.given,
        "place": check.place,
        "expected": check.expected,
        "got": check.got,
        "tolerance": check.tolerance,
        "why": case.why,
        "result": AGREES if check.agrees else DIFFERS,
    }


def readable(found: dict[str, Any]) -> str:
    """The table for people: who computed, then a line for each expected value, then what differs in full."""
    head = [
        f"Downlead {found['product_version']}, calculation {found['calculation_version']},"
        f" Python {found['python_version']}, {found['date']}",
        f"Calculation code, SHA-256: {found['calculation_sha256']}",
        f"Cases: {found['cases_from']}, SHA-256: {found['cases_sha256']}",
        "",
    ]
    rows = [_line({key: key for key in _WIDTHS}, "Result")]
    rows += [_line(_cells(row), row["result"]) for row in found["results"]]
    wrong = [
        f"Differs: {row['case']}, {row['place']}: expected {row['expected']} ({row['tolerance']}), got {row['got']}"
        for row in found["results"]
        if row["result"] == DIFFERS
    ]
    state = "all agree" if not wrong else f"{len(wrong)} differ"
    total = f"{found['cases']} cases, {found['checks']} values: {state}."
    return "\n".join([*head, *rows, "", *wrong, total])


def _cells(row: dict[str, Any]) -> dict[str, str]:
    return {
        "Case": f"{row['case']} {row['place']}",
        "Source": f"{row['source']} ({row['status']})",
        "Input": row["given"],
        "Expected": row["expected"],
        "Got": row["got"],
        "Tolerance": row["tolerance"],
    }


def _line(cells: dict[str, str], result: str) -> str:
    return "  ".join([*(_fitted(cells[key], width) for key, width in _WIDTHS.items()), result])


def _fitted(text: str, width: int) -> str:
    text = text.replace("\n", " ")
    return f"{text if len(text) <= width else text[: width - 1] + '…':<{width}}"
