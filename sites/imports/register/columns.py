"""The columns of a register: a row for each test point, or for a part that has none."""

from collections.abc import Collection

from sites.actions.register import time_zones
from sites.imports.cells import (
    LENGTHS_IN_M,
    LENGTHS_IN_MM,
    CellFault,
    Reader,
    between,
    day,
    one_of,
    quantity,
    section,
    text,
    yes_no,
)
from sites.imports.reader import Column
from sites.models import PartKind, ProtectionClass, Quantity, SystemKind
from sites.ordering import NUMBER_LENGTH, natural_key

# Which column says which fact of what it belongs to.
SITE = {"address": "address", "latitude": "latitude", "longitude": "longitude", "time_zone": "time_zone"}
STRUCTURE = {
    "use": "use",
    "class": "protection_class",
    "critical": "critical",
    "explosion_risk": "explosion_risk",
    "roof_perimeter": "roof_perimeter_m",
    "height": "height_m",
}
SYSTEM = {"system_kind": "kind"}
PART = {
    "part_kind": "kind",
    "material": "material",
    "length": "length_m",
    "section": "section_mm2",
    "depth": "depth_m",
    "diameter": "diameter_mm",
    "from": "from_what",
    "to": "to_what",
    "test_joint": "test_joint",
    "parallel_paths": "parallel_paths",
}


def columns(materials: Collection[str]) -> tuple[Column, ...]:
    """materials: the names a material may have; with none given, any words will do"""
    length = quantity(LENGTHS_IN_M, "60 m")
    words = text(200)
    return (
        Column("client", words, True, True, "Write the client's name."),
        Column("site", words, True, True, "Write the site's name."),
        Column("address", text(400)),
        Column("latitude", between(-90, 90, "The latitude"), meaning="Degrees, north positive."),
        Column("longitude", between(-180, 180, "The longitude"), meaning="Degrees, east positive."),
        Column("time_zone", time_zone, meaning="Such as Europe/London."),
        Column("structure", words, True, True, "Write the structure's name."),
        Column("use", words),
        Column("class", one_of("a protection class", ProtectionClass)),
        Column("critical", yes_no),
        Column("explosion_risk", yes_no),
        Column("roof_perimeter", length, meaning="Such as 60 m."),
        Column("height", length, meaning="Such as 12 m."),
        Column("system_kind", one_of("a kind of system", SystemKind)),
        Column("system", words, True, True, "Write the system's name."),
        Column("part_kind", one_of("a kind of part", PartKind)),
        Column("part", words, True, True, "Write the part's name."),
        Column("material", one_of("a known material", materials) if materials else text(60)),
        Column("length", length, meaning="Such as 15 m."),
        Column("section", section, meaning="75 mm², or 25 x 3 mm for a tape."),
        Column("depth", length, meaning="Such as 0.6 m."),
        Column("diameter", quantity(LENGTHS_IN_MM, "16 mm"), meaning="Such as 16 mm."),
        Column("from", words),
        Column("to", words),
        Column("test_joint", yes_no),
        Column("parallel_paths", yes_no, meaning="Empty where nobody has said."),
        Column(
            "point", point_number(), meaning="The number on the point's label; empty for a part without one."
        ),
        Column("quantity", one_of("what is measured at a point", Quantity)),
        Column("place", text(300), meaning="Where the point is."),
        Column("since", day, True, True, "Write the first day this holds, such as 2027-03-12."),
    )


def time_zone(cell: str) -> str:
    """The name of a zone that this machine knows."""
    if cell not in time_zones():
        raise CellFault(f"“{cell[:60]}” is not a known time zone. Write a name such as Europe/London or UTC.")
    return cell


def point_number() -> Reader:
    """A number as it stands on a label: 2, 10, 12A."""
    words = text(NUMBER_LENGTH)

    def read(cell: str) -> str:
        number: str = words(cell)
        try:
            natural_key(number)
        except ValueError as fault:
            raise CellFault(str(fault)) from None
        return number

    return read
