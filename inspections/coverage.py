"""Which points a visit is to read, and how each of them ended."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, Exists, OuterRef, QuerySet

from inspections.models import NoReading, Reading, Visit, VisitPoint
from sites.models import TestPoint, VisitKind

WITHOUT_READINGS = (VisitKind.VISUAL, VisitKind.NO_ACCESS)


def points_asked(visit: Visit, day: date) -> QuerySet[TestPoint]:
    """The points a visit is to read: those listed for it, else all standing on that day; none at a visual visit."""
    if visit.kind in WITHOUT_READINGS:
        return TestPoint.objects.none()
    points = TestPoint.objects.filter(structure=visit.structure_id).standing_on(day)
    if visit.listed_points.exists():
        points = points.filter(pk__in=visit.listed_points.values("point"))
    return points


def points_without_outcome(visit: Visit, day: date) -> QuerySet[TestPoint]:
    """Asked points with neither a standing reading nor a standing reason."""
    read = Reading.objects.standing().filter(visit=visit, point=OuterRef("pk"))
    explained = NoReading.objects.standing().filter(visit=visit, point=OuterRef("pk"))
    return points_asked(visit, day).filter(~Exists(read), ~Exists(explained))


def coverage_words(read: int, reasons: Sequence[tuple[str, int]], blank: int) -> str:
    """How much of what was asked has been read: `38 of 60 points read, 12 not accessible, 10 not tested`."""
    asked = read + sum(count for _, count in reasons) + blank
    if not asked:
        return "No points were to be read at this visit"
    parts = [f"{read} of {asked} point{'' if asked == 1 else 's'} read"]
    parts += [f"{count} {reason}" for reason, count in reasons]
    if blank:
        parts.append(f"{blank} owed")
    return ", ".join(parts)


@dataclass(slots=True)
class Covered:
    """How the points of one visit ended. reasons: (reason, how many), the most frequent first

    blank: asked for, with neither reading nor reason; reads: whether the kind of visit reads points at all
    """

    read: int = 0
    reasons: list[tuple[str, int]] = field(default_factory=list)
    blank: int = 0
    reads: bool = True

    @property
    def words(self) -> str:
        if not self.reads:
            return "No points are read at this kind of visit"
        return coverage_words(self.read, self.reasons, self.blank)

    @property
    def is_short(self) -> bool:
        return bool(self.reasons or self.blank)


def of_visits(visits: Sequence[Visit]) -> dict[int, Covered]:
    """How the points of each visit ended, in a constant number of queries.

    visits: with ``structure__site`` at hand, each ended
    """
    found = {visit.pk: Covered(reads=visit.kind not in WITHOUT_READINGS) for visit in visits}
    ids = list(found)
    readings = Reading.objects.standing().filter(visit__in=ids)
    for visit, number in _counted(readings, "visit"):
        found[visit].read = number
    for visit, reason, number in _counted(_last_reasons(ids), "visit", "reason"):
        found[visit].reasons.append((reason, number))
    for visit, asked in _asked(visits).items():
        covered = found[visit]
        covered.reasons.sort(key=lambda row: (-row[1], row[0]))
        covered.blank = max(0, asked - covered.read - sum(number for _, number in covered.reasons))
    return found


def _counted(rows: QuerySet, *by: str) -> list[tuple[Any, ...]]:
    return list(rows.order_by().values_list(*by).annotate(number=Count("point", distinct=True)))


def _last_reasons(visits: Sequence[int]) -> QuerySet[NoReading]:
    """Standing reasons of points without a reading at the same visit; the last one where several were given."""
    same = {"visit": OuterRef("visit"), "point": OuterRef("point")}
    read = Reading.objects.standing().filter(**same)
    later = NoReading.objects.standing().filter(**same, pk__gt=OuterRef("pk"))
    return NoReading.objects.standing().filter(~Exists(read), ~Exists(later), visit__in=visits)


def _asked(visits: Sequence[Visit]) -> dict[int, int]:
    """How many points each visit was to read, by the days on which the points stood."""
    structures = {visit.structure_id for visit in visits}
    everywhere: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    of_structures = TestPoint.objects.filter(structure__in=structures)
    for structure, *span in _grouped(of_structures, "structure", "since", "retired_on"):
        everywhere[structure].append(tuple(span))
    listed: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    of_visits = VisitPoint.objects.filter(visit__in=[visit.pk for visit in visits])
    for visit_id, *span in _grouped(of_visits, "visit", "point__since", "point__retired_on"):
        listed[visit_id].append(tuple(span))
    asked = {}
    for visit in visits:
        if visit.kind in WITHOUT_READINGS or visit.on_site_until is None:
            continue
        day = visit.day_at(ZoneInfo(visit.structure.site.time_zone))
        asked[visit.pk] = _standing(listed[visit.pk] or everywhere[visit.structure_id], day)
    return asked


def _grouped(rows: QuerySet, *by: str) -> list[tuple[Any, ...]]:
    return list(rows.order_by().values_list(*by).annotate(number=Count("pk")))


def _standing(groups: Sequence[tuple[Any, ...]], day: date) -> int:
    return sum(
        number
        for since, retired_on, number in groups
        if since <= day and (retired_on is None or retired_on > day)
    )
