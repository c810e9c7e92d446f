"""What the least sections ask of a part in the register: always a question, with its source and status.

The register keeps no shape and does not say what a bond is for, so a row that would apply only to one shape or use
asks under that condition.
"""

from collections.abc import Iterable
from decimal import Decimal
from typing import Protocol

from inspections.calculations.printing import NBSP, plain
from inspections.cross_sections import ANY_SHAPE, LeastSection, least_sections, section_question
from sites.models import PartKind

_SQUARE_MILLIMETRE = Decimal("0.000001")

# The table's words for what a part is used as.
USES: dict[str, tuple[str, ...]] = {
    PartKind.AIR_TERMINATION: ("air-termination",),
    PartKind.DOWN_CONDUCTOR: ("down-conductor",),
    PartKind.BOND: ("bond between bonding bars or to earth", "bond of internal metal to a bonding bar"),
    PartKind.ELECTRODE: ("horizontal earth electrode",),
}
# A bond's use is not recorded, so each of its two rows asks under its own condition.
WHERE: dict[str, str] = {
    "bond between bonding bars or to earth": "If it joins bonding bars or leads to earth: ",
    "bond of internal metal to a bonding bar": "If it joins internal metal to a bonding bar: ",
}
ROD_USES: dict[str, tuple[str, ...]] = {PartKind.ELECTRODE: ("earth rod",)}
# The table's metals by how names in the materials table begin; the first that fits counts.
METALS: tuple[tuple[str, str], ...] = (
    ("copper-clad steel rod", "copper-coated steel"),
    ("copper-clad", ""),
    ("aluminium-clad", ""),
    ("copper", "copper"),
    ("aluminium alloy", "aluminium alloy"),
    ("aluminium", "aluminium"),
    ("galvanised steel", "galvanised steel"),
    ("stainless steel", "stainless steel"),
    ("steel", "steel"),
    ("carbon steel", "steel"),
    ("mild steel", "steel"),
)


class Described(Protocol):
    """What of a part its section's questions hang on."""

    @property
    def kind(self) -> str: ...
    @property
    def material(self) -> str: ...
    @property
    def section_mm2(self) -> Decimal | None: ...
    @property
    def diameter_mm(self) -> Decimal | None: ...


def metal_of(material: str, kind: str = "") -> str:
    """The table's word for a material of the register; "" where the table has none.

    >>> metal_of("copper, tinned"), metal_of("galvanised steel", "bond"), metal_of("zinc")
    ('copper', 'steel', '')
    """
    found = next((metal for begins, metal in METALS if material.startswith(begins)), "")
    return "steel" if kind == PartKind.BOND and found.endswith("steel") else found


def questions(part: Described) -> list[str]:
    """What the least sections ask of a part; none where its facts are unknown or enough."""
    metal = metal_of(part.material, part.kind)
    if not metal:
        return []
    return [*_of_section(part, metal), *_of_diameter(part, metal)]


def _rows(uses: Iterable[str], metal: str) -> list[LeastSection]:
    wanted = tuple(uses)
    return [row for row in least_sections() if row.use in wanted and row.metal == metal]


def _of_section(part: Described, metal: str) -> list[str]:
    if part.section_mm2 is None or part.section_mm2 <= 0:
        return []
    asked = []
    for use in USES.get(part.kind, ()):
        rows = _rows([use], metal)
        for least in sorted({row.least_m2 for row in rows if row.least_m2 is not None}):
            shapes = [row.shape for row in rows if row.least_m2 == least]
            question = section_question(use, metal, shapes[0], part.section_mm2 * _SQUARE_MILLIMETRE)
            if question is not None:
                asked.append(WHERE.get(use, "") + _condition(shapes, rows) + question)
    return asked


def _condition(shapes: list[str], rows: list[LeastSection]) -> str:
    if len(shapes) == len(rows) or ANY_SHAPE in shapes:
        return ""
    return f"If it is {' or '.join(shapes)}: "


def _of_diameter(part: Described, metal: str) -> list[str]:
    """A rod is described by its diameter; the table has a least diameter for it."""
    if part.diameter_mm is None:
        return []
    return [
        f"{plain(part.diameter_mm.normalize())}{NBSP}mm of {metal} as {row.use}, where {row.source} ({row.status}) "
        f"asks for a diameter of {plain((row.least_dimension_m * 1000).normalize())}{NBSP}mm: is the diameter "
        "recorded right? Check against your adopted edition."
        for row in _rows(ROD_USES.get(part.kind, ()), metal)
        if row.dimension == "diameter"
        and row.least_dimension_m is not None
        and part.diameter_mm < row.least_dimension_m * 1000
    ]
