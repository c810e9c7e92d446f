"""The metals a point may be made of, read from fixtures/materials.csv."""

import csv
from decimal import Decimal
from functools import cache
from pathlib import Path

from inspections.rules.judging.facts import Material

MATERIALS_FILE = Path(__file__).resolve().parent.parent / "fixtures" / "materials.csv"

_SQUARE_MILLIMETRE = Decimal("0.000001")


class UnknownMaterial(ValueError):
    """No such name in the materials table; the message lists the names."""


def _resistivity_ohm_m(cell: str) -> Decimal | None:
    """ohm mm²/m as a person writes it, a fraction where that is the exact value: `1/58`."""
    if not cell:
        return None
    over, _, under = cell.partition("/")
    return Decimal(over) / Decimal(under or 1) * _SQUARE_MILLIMETRE


def _material(row: dict[str, str]) -> Material:
    return Material(
        name=row["name"],
        alpha_per_k=Decimal(row["alpha_per_k"]) if row["alpha_per_k"] else None,
        alpha_at_c=Decimal(row["alpha_at_c"] or 20),
        resistivity_ohm_m=_resistivity_ohm_m(row["resistivity_ohm_mm2_per_m"]),
        source=f"{row['source']} ({row['status']})",
    )


@cache
def material_rows() -> tuple[dict[str, str], ...]:
    """The table as it stands in the file: name, resistivity, coefficient, source, status, note."""
    with MATERIALS_FILE.open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


@cache
def _materials() -> dict[str, Material]:
    return {row["name"]: _material(row) for row in material_rows()}


def material_names() -> tuple[str, ...]:
    """Every name in the table, in its order.

    >>> material_names()[0]
    'copper'
    """
    return tuple(_materials())


def material(name: str) -> Material:
    """The metal of that name; capitals and outer spaces do not count. Raises: UnknownMaterial

    >>> material("aluminium").alpha_per_k
    Decimal('0.00403')
    """
    found = _materials().get(name.strip().lower()) or _materials().get(name.strip())
    if found is None:
        raise UnknownMaterial(
            f"“{name}” is not in the materials table. It knows: {'; '.join(material_names())}."
        )
    return found
