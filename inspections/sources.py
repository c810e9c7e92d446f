"""Every source this record stands on, with its status: materials, least sections, starter rules, formulas."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from inspections import cross_sections, materials
from inspections.formulas import FORMULAS
from inspections.models import SourceStatus

STARTER = Path(__file__).resolve().parent.parent / "fixtures" / "starter"
PUBLISHED = "published formula"


@dataclass(frozen=True, slots=True)
class Row:
    """what: it is about; source: with its edition; status: one of SourceStatus, or PUBLISHED for a formula that
    names its source without a reserve; note: more words"""

    what: str
    source: str
    status: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    title: str
    words: str
    rows: list[Row]


def groups() -> list[Group]:
    """All of them, in the order a verdict meets them."""
    adopted = "A firm adopts them one by one, or states its own."
    told = (
        ("Metals", "Resistivity and temperature coefficient of what a point may be made of.", _metals()),
        ("Limits as supplied", adopted, _starter("limits.csv")),
        ("Intervals as supplied", adopted, _starter("intervals.csv")),
        ("Days after events, as supplied", adopted, _starter("allowances.csv")),
        ("Least sections", "What the register is asked about; never a verdict.", _sections()),
        ("Formulas", "What the calculators and the verdicts reckon with.", _formulas()),
    )
    return [Group(title, words, list(rows)) for title, words, rows in told]


def _metals() -> Iterator[Row]:
    for row in materials.material_rows():
        yield Row(row["name"], row["source"], row["status"], row["note"])


def _starter(name: str) -> Iterator[Row]:
    with (STARTER / name).open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            yield Row(row["title"], f"{row['source']}, {row['edition']}", row["status"], row["note"])


def _sections() -> Iterator[Row]:
    with cross_sections.CROSS_SECTIONS_FILE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            what = ", ".join((row["use"], row["metal"], row["shape"]))
            yield Row(what, row["source"], row["status"], row["note"])


def _formulas() -> Iterator[Row]:
    for formula in FORMULAS.values():
        yield Row(formula.title, formula.source, status_of(formula.source), formula.validity)


def status_of(source: str) -> str:
    """The reserve a source states about itself, in the words of SourceStatus."""
    return next((status for status in SourceStatus.values if status in source), PUBLISHED)
