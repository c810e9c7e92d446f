"""Lists of parts: those of a structure, those whose section asks a question, and the points of one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from django.db.models import OuterRef, QuerySet

from inspections import part_sections
from inspections.place_lists import in_order_of, number_of
from sites.models import Part, Structure, TestPoint


@dataclass(frozen=True, slots=True)
class PartRow:
    """points: how many stand on the day; questions: what its section asks"""

    part: Part
    points: int
    questions: list[str]


def parts_of(structure: Structure, today: date) -> QuerySet[Part]:
    """Parts by system and name, each with how many points it has on a day."""
    points = TestPoint.objects.filter(part=OuterRef("pk")).standing_on(today)
    rows = Part.objects.filter(structure=structure).select_related("system")
    counted = rows.annotate(point_count=number_of(points, "part"))
    return counted.order_by("system__name", "system", "name", "pk")


def page_of_parts(parts: QuerySet[Part], start: int, stop: int) -> list[PartRow]:
    """Takes ``parts_of``."""
    found: Any = parts[start:stop]
    return [PartRow(part, part.point_count, part_sections.questions(part)) for part in found]


def points_of(part: Part) -> QuerySet[TestPoint]:
    """The points of a part, standing or retired, in natural order of their numbers."""
    return TestPoint.objects.filter(part=part).order_by("number_order", "pk")


class _Described(NamedTuple):
    """What of a part its section's questions hang on: there may be very many."""

    pk: int
    kind: str
    material: str
    section_mm2: Decimal | None
    diameter_mm: Decimal | None


def asking(structures: QuerySet[Structure]) -> list[int]:
    """Ids of the parts of these structures whose section asks a question, by structure and name; one query."""
    rows = (
        Part.objects.filter(structure__in=structures.values("pk"))
        .exclude(material="")
        .exclude(section_mm2=None, diameter_mm=None)
        .order_by("structure__name", "structure", "name", "pk")
        .values_list(*_Described._fields)
    )
    return [row.pk for row in map(_Described._make, rows.iterator()) if part_sections.questions(row)]


def page_of_asking(ids: Sequence[int], start: int, stop: int) -> list[PartRow]:
    """A page of those parts, each with its questions."""
    wanted = ids[start:stop]
    rows = Part.objects.filter(pk__in=wanted).select_related("system", "structure")
    return [PartRow(part, 0, part_sections.questions(part)) for part in in_order_of(wanted, rows)]
