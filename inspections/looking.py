"""Which parts a visit is to look at, and how each of them ended.

A visit that ended before parts were recorded one by one has no row of any part: it is taken as having seen every part,
as it was when it was handed in. Nothing else can be without rows: a visit is not complete while a part is unanswered.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from zoneinfo import ZoneInfo

from django.db.models import Count, Exists, Min, OuterRef, QuerySet

from inspections.models import COVERS, Look, PartLook, Visit, VisitPoint
from sites.models import Part, PartKind, TestPoint, VisitKind

# These kinds of visit look at the parts; the others read or find nobody.
LOOKS = (VisitKind.COMPLETE, VisitKind.FIRST, VisitKind.VISUAL, VisitKind.AFTER_EVENT)

# From the roof down, then inside; and what many of them are called.
LEVELS: tuple[tuple[str, str, str], ...] = (
    (PartKind.AIR_TERMINATION, "Roof", "air terminations"),
    (PartKind.NATURAL, "Down", "natural components"),
    (PartKind.DOWN_CONDUCTOR, "Down", "down-conductors"),
    (PartKind.ELECTRODE, "Earth", "earth electrodes"),
    (PartKind.BAR, "Inside", "bonding bars"),
    (PartKind.BOND, "Inside", "bonds"),
    (PartKind.SURGE_PROTECTOR, "Inside", "surge protectors"),
)


def looks(visit: Visit) -> bool:
    """Whether parts are looked at on this kind of visit."""
    return visit.kind in LOOKS


def parts_standing(structure: int, day: date) -> QuerySet[Part]:
    """The parts of a structure that were described for that day, or before."""
    return Part.objects.annotate(since=Min("details__since")).filter(structure=structure, since__lte=day)


def parts_asked(visit: Visit, day: date) -> QuerySet[Part]:
    """The parts a visit is to look at: those standing on that day; of a visit with points listed, those they are on."""
    if not looks(visit):
        return Part.objects.none()
    parts = parts_standing(visit.structure_id, day)
    if visit.listed_points.exists():
        on_them = TestPoint.objects.filter(pk__in=visit.listed_points.values("point"))
        parts = parts.filter(pk__in=on_them.values("part"))
    return parts


def parts_unanswered(visit: Visit, day: date) -> QuerySet[Part]:
    """Asked parts of which nobody has said yet whether they were seen."""
    return parts_asked(visit, day).filter(~Exists(PartLook.objects.filter(visit=visit, part=OuterRef("pk"))))


def looking_words(seen: int, reasons: Sequence[tuple[str, int]], blank: int, *, defects: int = 0) -> str:
    """How much of what was to be looked at was seen: `12 of 14 parts seen, 1 not accessible, 1 owed`."""
    asked = seen + sum(count for _, count in reasons) + blank
    if not asked:
        return "No parts are recorded there"
    said = [f"{seen} of {asked} part{'' if asked == 1 else 's'} seen"]
    if defects:
        said[0] += f" ({defects} with a defect)"
    said += [f"{count} {reason}" for reason, count in reasons]
    return ", ".join(said + ([f"{blank} owed"] if blank else []))


@dataclass(slots=True)
class Looked:
    """How the parts of one visit ended. reasons: (reason, how many), the most frequent first

    looks: whether its kind looks at parts; listed: whether parts were recorded one by one
    """

    looks: bool = True
    listed: bool = False
    ended: bool = False
    seen: int = 0
    defects: int = 0
    reasons: list[tuple[str, int]] = field(default_factory=list)
    blank: int = 0

    @property
    def words(self) -> str:
        if not self.looks:
            return ""
        if self.ended and not self.listed:
            return "Parts were not recorded one by one"
        return looking_words(self.seen, self.reasons, self.blank, defects=self.defects)

    @property
    def is_short(self) -> bool:
        return bool(self.reasons or self.blank)


def of_visits(visits: Sequence[Visit]) -> dict[int, Looked]:
    """How the parts of each visit ended, in a constant number of queries. visits: with ``structure__site`` at hand"""
    found = {visit.pk: Looked(looks=looks(visit), ended=visit.on_site_until is not None) for visit in visits}
    rows = PartLook.objects.standing().filter(visit__in=list(found)).order_by()
    for visit, outcome, reason, number in rows.values_list("visit", "outcome", "reason").annotate(
        n=Count("pk")
    ):
        looked = found[visit]
        looked.listed = True
        if outcome in COVERS:
            looked.seen += number
            looked.defects += number if outcome == Look.DEFECT else 0
        else:
            looked.reasons.append((reason, number))
    asked = _asked([visit for visit in visits if found[visit.pk].listed])
    for visit, looked in found.items():
        looked.reasons.sort(key=lambda row: (-row[1], row[0]))
        looked.blank = max(0, asked.get(visit, 0) - looked.seen - sum(n for _, n in looked.reasons))
    return found


def _asked(visits: Sequence[Visit]) -> dict[int, int]:
    """How many parts each ended visit was to look at, by the days since which they stood."""
    ended = [visit for visit in visits if visit.on_site_until is not None]
    if not ended:
        return {}
    parts: dict[int, list[tuple[int, date | None]]] = defaultdict(list)
    rows = Part.objects.filter(structure__in={visit.structure_id for visit in ended}).order_by()
    rows = rows.annotate(since=Min("details__since"))
    for structure, pk, since in rows.values_list("structure", "pk", "since"):
        parts[structure].append((pk, since))
    listed: dict[int, set[int]] = defaultdict(set)
    points = VisitPoint.objects.filter(visit__in=[visit.pk for visit in ended])
    for visit_id, part in points.values_list("visit", "point__part"):
        listed[visit_id].add(part)
    days = {visit.pk: visit.day_at(ZoneInfo(visit.structure.site.time_zone)) for visit in ended}
    return {
        visit.pk: _counted(parts[visit.structure_id], listed.get(visit.pk), days[visit.pk]) for visit in ended
    }


def _counted(parts: Sequence[tuple[int, date | None]], only: set[int] | None, day: date) -> int:
    return sum(
        1 for pk, since in parts if since is not None and since <= day and (only is None or pk in only)
    )
