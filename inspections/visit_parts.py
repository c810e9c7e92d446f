"""The parts of a visit as a list, from the roof down, each with what was said of it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Case, IntegerField, Min, OuterRef, Q, QuerySet, Subquery, Value, When

from inspections import looking
from inspections.models import Look, PartLook, Visit
from inspections.place_lists import in_order_of
from sites.models import Part, TestPoint

PARTS_A_PAGE = 100
MOST_APART = 50
_LEVEL = {kind: f"{level}: {many}" for kind, level, many in looking.LEVELS}
_MANY = {kind: many for kind, _, many in looking.LEVELS}


@dataclass(frozen=True, slots=True)
class PartRow:
    """look: the answer that stands, None while there is none"""

    part: Part
    look: PartLook | None

    @property
    def level(self) -> str:
        """Where on the structure, and of which kind: the head that the row stands under."""
        return _LEVEL[self.part.kind]


def parts_shown(visit: Visit, day: date) -> QuerySet[Part]:
    """From the roof down: what is asked for while the visit is open, and what was answered."""
    answered = Part.objects.filter(pk__in=PartLook.objects.filter(visit=visit).values("part"))
    if visit.on_site_until is None or visit.state == "on site":
        asked = looking.parts_asked(visit, day).order_by().values("pk")
        answered = Part.objects.filter(Q(pk__in=asked) | Q(pk__in=answered.order_by().values("pk")))
    return from_the_roof_down(answered)


def from_the_roof_down(parts: QuerySet[Part]) -> QuerySet[Part]:
    """As the schematic has them: by kind, system, and the number of a part's first point; those without follow."""
    level = [When(kind=kind, then=Value(place)) for place, (kind, _, _) in enumerate(looking.LEVELS)]
    points = TestPoint.objects.filter(part=OuterRef("pk")).order_by().values("part")
    return parts.annotate(
        level=Case(*level, output_field=IntegerField()),
        first=Subquery(points.annotate(first=Min("number_order")).values("first")),
        bare=Case(When(first__isnull=True, then=Value(1)), default=Value(0)),
    ).order_by("level", "system__name", "system", "bare", "first", "name", "pk")


def page_of_parts(visit: Visit, day: date, start: int, stop: int) -> list[PartRow]:
    """Rows start to stop, in two queries."""
    ids = list(parts_shown(visit, day).values_list("pk", flat=True)[start:stop])
    parts = in_order_of(ids, Part.objects.filter(pk__in=ids).select_related("system"))
    looks = {look.part_id: look for look in _standing(visit).filter(part__in=ids)}
    return [PartRow(part, looks.get(part.pk)) for part in parts]


def answered(visit: Visit) -> list[PartRow]:
    """Every part that was answered, from the roof down, in two queries."""
    return _with_parts(_standing(visit))


def told_apart(visit: Visit) -> list[PartRow]:
    """The parts not seen and those seen with a defect, from the roof down, at most ``MOST_APART``."""
    return _with_parts(_standing(visit).exclude(outcome=Look.SEEN), most=MOST_APART)


def _with_parts(rows: QuerySet[PartLook], most: int | None = None) -> list[PartRow]:
    parts = from_the_roof_down(Part.objects.filter(pk__in=rows.order_by().values("part")))
    looks = {look.part_id: look for look in rows}
    return [PartRow(part, looks[part.pk]) for part in parts.select_related("system")[:most]]


def _standing(visit: Visit) -> QuerySet[PartLook]:
    rows = PartLook.objects.standing().filter(visit=visit)
    return rows.select_related("by", "defect__urgency", "replaces")


def open_of_one_kind(rows: Sequence[PartRow]) -> list[tuple[str, str]]:
    """(how many of what, their ids) of the kinds of which several stand unanswered among these rows."""
    found: dict[str, list[int]] = defaultdict(list)
    for row in rows:
        if row.look is None:
            found[row.part.kind].append(row.part.pk)
    return [
        (f"{len(ids)} {_MANY[kind]}", ",".join(map(str, ids))) for kind, ids in found.items() if len(ids) > 1
    ]


def next_open(visit: Visit, day: date, after: int) -> tuple[int, int] | None:
    """The next unanswered part behind one, else the first that is open: its id and the page it stands on."""
    ids = list(parts_shown(visit, day).values_list("pk", flat=True))
    answered = set(PartLook.objects.filter(visit=visit).values_list("part_id", flat=True))
    open_ = [place for place, pk in enumerate(ids) if pk not in answered]
    if not open_:
        return None
    here = ids.index(after) if after in ids else -1
    place = next((place for place in open_ if place > here), open_[0])
    return ids[place], place // PARTS_A_PAGE + 1
