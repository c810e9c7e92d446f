"""The least sections asked for, read from fixtures/cross_sections.csv, and what they ask of the register.

All of them are from memory: check against your adopted edition before you rely on one.
"""

import csv
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

from inspections.calculations.conductors import section_shortfall_m2
from inspections.calculations.printing import NBSP, plain

CROSS_SECTIONS_FILE = Path(__file__).resolve().parent.parent / "fixtures" / "cross_sections.csv"
ANY_SHAPE = "any"

_SQUARE_MILLIMETRE = Decimal("0.000001")


@dataclass(frozen=True, slots=True)
class LeastSection:
    """One row: least_m2 [m²], least_dimension_m [m] of the `dimension` named; None where the row has none."""

    use: str
    metal: str
    shape: str
    least_m2: Decimal | None
    least_dimension_m: Decimal | None
    dimension: str
    source: str
    status: str
    note: str


def _row(row: dict[str, str]) -> LeastSection:
    area, size = row["least_area_mm2"], row["least_dimension_mm"]
    return LeastSection(
        use=row["use"],
        metal=row["metal"],
        shape=row["shape"],
        least_m2=Decimal(area) * _SQUARE_MILLIMETRE if area else None,
        least_dimension_m=Decimal(size) / 1000 if size else None,
        dimension=row["dimension"],
        source=row["source"],
        status=row["status"],
        note=row["note"],
    )


@cache
def least_sections() -> tuple[LeastSection, ...]:
    """The whole table, in the file's order."""
    with CROSS_SECTIONS_FILE.open(encoding="utf-8", newline="") as file:
        return tuple(_row(row) for row in csv.DictReader(file))


def least_section(use: str, metal: str, shape: str) -> LeastSection | None:
    """The row for a part, by its words; None where the table holds none.

    >>> least_section("down-conductor", "copper", "tape").least_m2
    Decimal('0.000050')
    """
    for row in least_sections():
        if (row.use, row.metal) == (use, metal) and row.shape in (shape, ANY_SHAPE):
            return row
    return None


def section_question(use: str, metal: str, shape: str, section_m2: Decimal) -> str | None:
    """A question where a part's section [m²] is less than the table asks for; None where it is enough or unknown.

    >>> section_question("down-conductor", "copper", "tape", Decimal("0.000050")) is None
    True
    """
    row = least_section(use, metal, shape)
    if row is None or row.least_m2 is None or not section_shortfall_m2(section_m2, row.least_m2):
        return None
    has, least = (plain((area / _SQUARE_MILLIMETRE).normalize()) for area in (section_m2, row.least_m2))
    return (
        f"{has}{NBSP}mm² of {metal} as {use}, where {row.source} ({row.status}) asks for {least}{NBSP}mm²:"
        " is the section recorded right? Check against your adopted edition."
    )
