"""Everything the obligations of some structures hang on, with when each was so and when it was recorded.

Fetched as plain columns, in a number of queries that does not depend on how many structures there are.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import Count, F, Max, Min, Q, QuerySet

from inspections.models import (
    COVERS,
    Event,
    PartLook,
    Reading,
    Suspension,
    SuspensionEnd,
    Visit,
    VisitState,
    VisitStep,
)
from sites.models import (
    ImportKind,
    ImportWithdrawal,
    LogEntry,
    Part,
    PointNumber,
    SiteDetail,
    Structure,
    StructureDetail,
    TestPoint,
    VisitKind,
)


class Place(NamedTuple):
    """A structure: what of it never changes, and its site's zone as it is now."""

    pk: int
    identity: UUID
    recorded_at: datetime
    site: int
    client: int
    firm: int
    time_zone: str


class Zone(NamedTuple):
    """The time zone of a site since a day; only where a site was ever changed."""

    site: int
    since: date
    recorded_at: datetime
    time_zone: str


class Detail(NamedTuple):
    """What a structure is like since a day."""

    structure: int
    since: date
    recorded_at: datetime
    protection_class: str
    critical: bool
    explosion_risk: bool
    use: str


class Done(NamedTuple):
    """A visit that has ended, as it stands now."""

    structure: int
    pk: int
    number: int
    kind: str
    state: str
    until: datetime
    recorded_at: datetime


class Step(NamedTuple):
    """The field work ended, or the visit was sent back."""

    visit: int
    state: str
    at: datetime
    recorded_at: datetime


class Happened(NamedTuple):
    """An event. ended_at, ended_words: when it was withdrawn and why; None where it was not"""

    structure: int
    pk: int
    identity: UUID
    kind: str
    on: date
    within_days: int
    recorded_at: datetime
    ended_at: datetime | None
    ended_words: str | None


class Stop(NamedTuple):
    """A suspension as first stated."""

    structure: int
    pk: int
    identity: UUID
    since: date
    until: date | None
    return_inspection: bool
    recorded_at: datetime


class StopEnd(NamedTuple):
    """The last day of a suspension, as stated later. The row recorded last holds."""

    suspension: int
    last_day: date
    recorded_at: datetime


class Span(NamedTuple):
    """So many points of a structure that stood from a day until a day, recorded at one moment."""

    structure: int
    since: date
    retired_on: date | None
    recorded_at: datetime
    number: int


class Point(NamedTuple):
    structure: int
    pk: int
    number: str
    since: date
    retired_on: date | None
    recorded_at: datetime


class Taken(NamedTuple):
    """A reading of a visit: when it was entered, and when it ceased to count (None while it counts)."""

    visit: int
    point: int
    recorded_at: datetime
    ended_at: datetime | None


class Piece(NamedTuple):
    """A part of a structure. since: the first day it is described for"""

    structure: int
    pk: int
    identity: UUID
    recorded_at: datetime
    since: date | None


class Looked(NamedTuple):
    """A part seen at a visit, or not: when it was entered, and when a correction took its place (None: none did)."""

    visit: int
    part: int
    covers: bool
    recorded_at: datetime
    ended_at: datetime | None


Grouped = dict[int, list[Any]]


def _grouped() -> Grouped:
    return defaultdict(list)


@dataclass(slots=True)
class Gathered:
    """The facts of one batch, by structure (zones by site, steps and readings by visit, ends by suspension,
    numbers by point, where it was ever renumbered).

    read: how many points were read at a visit, for visits whose readings all counted from the day it ended
    taken: reading by reading, for the others and for those that left points out
    points: point by point, only where a visit left some out or one was retired
    looked: part by part, of visits that may have left some out, now or as known by a moment
    parts: of structures with such visits
    """

    places: list[Place]
    zones: Grouped = field(default_factory=_grouped)
    details: Grouped = field(default_factory=_grouped)
    visits: Grouped = field(default_factory=_grouped)
    steps: Grouped = field(default_factory=_grouped)
    events: Grouped = field(default_factory=_grouped)
    suspensions: Grouped = field(default_factory=_grouped)
    ends: Grouped = field(default_factory=_grouped)
    spans: Grouped = field(default_factory=_grouped)
    read: dict[int, int] = field(default_factory=dict)
    taken: Grouped = field(default_factory=_grouped)
    points: Grouped = field(default_factory=_grouped)
    numbers: Grouped = field(default_factory=_grouped)
    looked: Grouped = field(default_factory=_grouped)
    parts: Grouped = field(default_factory=_grouped)
    retired_at: dict[int, datetime] = field(default_factory=dict)


def gather(structures: Sequence[int], *, with_steps: bool = True) -> Gathered:
    """The facts of these structures, in a constant number of queries.

    with_steps: also what tells how the record came to know of visits; as it was can be answered without
    """
    ids = list(structures)
    places = Structure.objects.filter(pk__in=ids).order_by("pk").values_list(
        "pk", "identity", "recorded_at", "site", "site__client", "site__client__firm", "site__time_zone"
    )  # fmt: skip
    found = Gathered([Place._make(row) for row in places])
    of_these = Q(structure__in=ids)
    _sort(
        found.zones,
        Zone,
        SiteDetail.objects.filter(site__in={place.site for place in found.places}).order_by(
            "recorded_at", "pk"
        ),
        ("site", "since", "recorded_at", "time_zone"),
    )
    _sort(
        found.details,
        Detail,
        StructureDetail.objects.filter(of_these).order_by("-since", "-recorded_at", "-pk"),
        ("structure", "since", "recorded_at", "protection_class", "critical", "explosion_risk", "use"),
    )
    _sort(
        found.visits,
        Done,
        Visit.objects.filter(of_these, on_site_until__isnull=False).order_by("on_site_until", "pk"),
        ("structure", "pk", "number", "kind", "state", "on_site_until", "recorded_at"),
    )
    _sort(
        found.events,
        Happened,
        Event.objects.filter(of_these).order_by("on", "pk"),
        (
            "structure",
            "pk",
            "identity",
            "kind",
            "on",
            "inspect_within_days",
            "recorded_at",
            "withdrawal__recorded_at",
            "withdrawal__words",
        ),
    )
    _sort(
        found.suspensions,
        Stop,
        Suspension.objects.filter(of_these).order_by("since", "pk"),
        ("structure", "pk", "identity", "since", "until", "return_inspection", "recorded_at"),
    )
    _sort(
        found.ends,
        StopEnd,
        SuspensionEnd.objects.filter(suspension__structure__in=ids).order_by("-recorded_at", "-pk"),
        ("suspension", "last_day", "recorded_at"),
    )
    alike = ("structure", "since", "retired_on", "recorded_at")
    for row in TestPoint.objects.filter(of_these).order_by().values_list(*alike).annotate(n=Count("pk")):
        found.spans[row[0]].append(Span._make(row))
    if with_steps:
        _gather_steps(found, ids)
    _gather_readings(found, ids, with_steps)
    _gather_points(found)
    _gather_looks(found, ids, with_steps)
    return found


def _sort(into: Grouped, kind: Any, rows: QuerySet, columns: Sequence[str]) -> None:
    make = kind._make
    for row in rows.values_list(*columns):
        into[row[0]].append(make(row))


def _gather_steps(found: Gathered, ids: Sequence[int]) -> None:
    """Ends of field work and returns to the site: which of the visits counted, as known by a moment."""
    turns = (VisitState.FIELD_COMPLETE, VisitState.ON_SITE)
    rows = VisitStep.objects.filter(
        visit__structure__in=ids, visit__on_site_until__isnull=False, state__in=turns
    ).order_by("recorded_at", "pk")
    _sort(found.steps, Step, rows, ("visit", "state", "at", "recorded_at"))


def _gather_readings(found: Gathered, ids: Sequence[int], with_steps: bool) -> None:
    """How much each visit read. Most visits need a count only: their readings were all there when they ended, and
    nothing was withdrawn since; a correction takes the place of a reading at the same point."""
    rows = Reading.objects.filter(visit__structure__in=ids, visit__on_site_until__isnull=False).order_by()
    files = _withdrawn_files(found)
    intricate = set(rows.filter(file__in=files).values_list("visit", flat=True)) if files else set()
    if with_steps:
        for visit, number, last in rows.values_list("visit").annotate(
            n=Count("point", distinct=True), last=Max("recorded_at")
        ):
            found.read[visit] = number
            ends = [step for step in found.steps[visit] if step.state == VisitState.FIELD_COMPLETE]
            if len(ends) != 1 or last > ends[0].recorded_at:
                intricate.add(visit)
    else:
        found.read.update(rows.values_list("visit").annotate(n=Count("point", distinct=True)))
    stood = {structure: sum(span.number for span in spans) for structure, spans in found.spans.items()}
    short = {
        visit.pk
        for structure, of_structure in found.visits.items()
        for visit in of_structure
        if visit.kind != VisitKind.VISUAL and found.read.get(visit.pk, 0) < stood.get(structure, 0)
    }
    wanted = intricate | (short & found.read.keys())
    if not wanted:
        return
    _gather_taken(found, wanted, files)


def _gather_taken(found: Gathered, visits: Iterable[int], withdrawn: Mapping[int, datetime]) -> None:
    """Reading by reading, with when each ceased to count.

    The tables are read one by one: over a table joined to itself by a column that is mostly empty, a planner with
    statistics takes a walk of the whole.
    """
    rows = Reading.objects.filter(visit__in=visits).order_by()
    replaced = dict(rows.filter(replaces__isnull=False).values_list("replaces", "recorded_at"))
    for pk, visit, point, recorded_at, file in rows.values_list(
        "pk", "visit", "point", "recorded_at", "file"
    ):
        ends = [moment for moment in (replaced.get(pk), withdrawn.get(file)) if moment is not None]
        found.taken[visit].append(Taken(visit, point, recorded_at, min(ends, default=None)))


def _withdrawn_files(found: Gathered) -> dict[int, datetime]:
    """Files of readings that were withdrawn, and when; most firms have withdrawn few, or none."""
    withdrawn = ImportWithdrawal.objects.filter(
        file__firm__in={place.firm for place in found.places}, file__kind=ImportKind.READINGS
    )
    return dict(withdrawn.values_list("file", "recorded_at"))


def _gather_looks(found: Gathered, structures: Sequence[int], with_steps: bool) -> None:
    """Parts one by one, where a visit saw fewer than there are; as known by a moment also where an answer was
    corrected, or recorded after the field work had ended once."""
    rows = PartLook.objects.filter(
        visit__structure__in=structures, visit__on_site_until__isnull=False
    ).order_by()
    counted = {
        visit: (seen, number, last)
        for visit, seen, number, last in rows.values_list("visit").annotate(
            seen=Count("pk", filter=Q(outcome__in=COVERS)), n=Count("pk"), last=Max("recorded_at")
        )
    }
    if not counted:
        return
    structure_of = {visit.pk: key for key, of in found.visits.items() for visit in of if visit.pk in counted}
    parts = Part.objects.filter(structure__in=set(structure_of.values())).order_by()
    number_of = dict(parts.values_list("structure").annotate(n=Count("pk")))
    wanted = {
        visit for visit, (seen, number, _) in counted.items()
        if seen < number_of.get(structure_of[visit], 0) or number > seen
    }  # fmt: skip
    if with_steps:
        for visit, (_, _, last) in counted.items():
            ends = [step for step in found.steps[visit] if step.state == VisitState.FIELD_COMPLETE]
            if len(ends) != 1 or last > ends[0].recorded_at:
                wanted.add(visit)
    wanted |= set(rows.filter(replaces__isnull=False).values_list("visit", flat=True))
    if not wanted:
        return
    here = rows.filter(visit__in=wanted)
    replaced = dict(here.filter(replaces__isnull=False).values_list("replaces", "recorded_at"))
    for pk, visit, part, outcome, at in here.values_list("pk", "visit", "part", "outcome", "recorded_at"):
        found.looked[visit].append(Looked(visit, part, outcome in COVERS, at, replaced.get(pk)))
    columns = ("structure", "pk", "identity", "recorded_at", "since")
    of_these = parts.filter(structure__in={structure_of[visit] for visit in wanted}).order_by("pk")
    _sort(found.parts, Piece, of_these.annotate(since=Min("details__since")), columns)


def _gather_points(found: Gathered) -> None:
    """Points by themselves where a visit may have left some out, or one was retired."""
    wanted = {
        structure
        for structure, visits in found.visits.items()
        if any(visit.pk in found.taken or visit.pk not in found.read for visit in visits)
    }
    wanted |= {
        structure for structure, spans in found.spans.items() if any(span.retired_on for span in spans)
    }
    if not wanted:
        return
    _sort(
        found.points,
        Point,
        TestPoint.objects.filter(structure__in=wanted).order_by("pk"),
        ("structure", "pk", "number", "since", "retired_on", "recorded_at"),
    )
    later = Q(since__gt=F("point__since")) | Q(recorded_at__gt=F("point__recorded_at"))
    renumbered = PointNumber.objects.filter(later, point__structure__in=wanted).values_list(
        "point", flat=True
    )
    rows = PointNumber.objects.filter(point__in=set(renumbered)).order_by("-since", "-recorded_at", "-pk")
    for point, number, since, recorded_at in rows.values_list("point", "number", "since", "recorded_at"):
        found.numbers[point].append((number, since, recorded_at))
    _gather_retirements(found)


def _gather_retirements(found: Gathered) -> None:
    """When it was recorded that a point is no longer read: the log tells, or the withdrawal of its import."""
    retired = [point for points in found.points.values() for point in points if point.retired_on is not None]
    if not retired:
        return
    named = TestPoint.objects.filter(pk__in=[point.pk for point in retired]).values_list("pk", "identity")
    identity = dict(named)
    entries = LogEntry.objects.filter(subject__in=identity.values(), action="point retired")
    told: dict[UUID, datetime] = dict(entries.order_by("-recorded_at").values_list("subject", "recorded_at"))
    firms = {place.firm for place in found.places}
    withdrawals = dict(
        ImportWithdrawal.objects.filter(
            file__firm__in=firms, file__kind=ImportKind.REGISTER
        ).values_list("file__recorded_at", "recorded_at")
    )  # fmt: skip
    for point in retired:
        at = told.get(identity[point.pk]) or withdrawals.get(point.recorded_at)
        found.retired_at[point.pk] = at or point.recorded_at
