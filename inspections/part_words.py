"""What is known of a part, as words."""

from inspections.tables import figures
from sites.models import Part


def part_facts(part: Part) -> list[tuple[str, str]]:
    """What is known of the part that the point belongs to; what is not recorded is not listed."""
    lengths = (("Length", part.length_m, "m"), ("Section", part.section_mm2, "mm²"))
    buried = (("Depth", part.depth_m, "m"), ("Diameter", part.diameter_mm, "mm"))
    system, kind = part.system, part.system.get_kind_display()
    said = [
        ("Part", _named(part)),
        ("System", system.name if system.name == kind else f"{system.name} ({kind})"),
    ]
    said += [("Material", part.material)] if part.material else []
    said += [
        (name, figures.with_unit(format(value, "f"), unit))
        for name, value, unit in (*lengths, *buried)
        if value is not None
    ]
    said += [("Joins", f"{part.from_what} to {part.to_what}")] if part.from_what and part.to_what else []
    if part.test_joint is not None:
        said.append(("Test joint", "has one that can be opened" if part.test_joint else "has none"))
    if part.parallel_paths is not None:
        said.append(("Parallel paths", "known" if part.parallel_paths else "none known"))
    return said


def _named(part: Part) -> str:
    """The kind and the name, where the name does not begin with the kind itself."""
    kind = part.get_kind_display()
    return part.name if part.name.casefold().startswith(kind.casefold()) else f"{kind}: {part.name}"
