"""What the record says of one structure: whose rules, its points, its visits, what happened to it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import Case, Count, Exists, F, OuterRef, Prefetch, Q, QuerySet, Subquery, Value, When

from inspections import looking
from inspections.coverage import WITHOUT_READINGS
from inspections.looking import Looked
from inspections.models import (
    DueDate,
    Event,
    EventWithdrawal,
    IntervalRule,
    NoReading,
    Reading,
    Suspension,
    Visit,
    VisitPoint,
)
from inspections.place_lists import in_order_of
from inspections.rules.due_dates.events import within
from inspections.standing_words import Owed, owed_on
from sites.models import Structure, TestPoint

MOST_HAPPENINGS = 50


def obligations(structure: Structure, today: date) -> list[Owed]:
    """All that is asked of the structure: what runs by due day, then what does not."""
    rules = IntervalRule.objects.with_adoption().select_related("client", "site__client", "structure__site")
    rows = DueDate.objects.filter(structure=structure).select_related("dispensation", "event")
    rows = rows.prefetch_related(Prefetch("rule", rules))
    found = [owed_on(today, row) for row in rows.order_by("due", "pk")]
    return sorted(found, key=lambda owed: not owed.runs)


@dataclass(frozen=True, slots=True)
class PointRow:
    """last: the latest standing reading, or the reason why there is none, whichever was later; None for neither

    retired: no longer to be read
    """

    point: TestPoint
    last: Reading | NoReading | None
    retired: bool = False


def points_of(structure: Structure, today: date) -> QuerySet[TestPoint]:
    """Points set up by a day, in natural order of their numbers; those retired by then follow the others."""
    retired = Q(retired_on__isnull=False, retired_on__lte=today)
    points = TestPoint.objects.filter(structure=structure, since__lte=today)
    points = points.annotate(gone=Case(When(retired, then=Value(1)), default=Value(0)))
    return points.order_by("gone", "number_order", "pk")


def with_last(points: QuerySet[TestPoint]) -> QuerySet[Any]:
    """Adds ``last_at``, and of the reading that is the last word on a point ``last_ohm`` and ``last_outcome``."""
    readings, reasons = Reading.objects.standing(), NoReading.objects.standing()
    found = points.annotate(
        read_at=_latest(readings, "at"), not_read_at=_latest(reasons, "at"), not_read=_latest(reasons, "reason"),
        read_ohm=_latest(readings, "value_order"), read_outcome=_latest(readings, "verdict__outcome"),
    )  # fmt: skip
    is_read = Q(read_at__isnull=False) & (Q(not_read_at__isnull=True) | Q(read_at__gte=F("not_read_at")))
    return found.annotate(
        last_at=Case(When(is_read, then="read_at"), default="not_read_at"),
        last_ohm=Case(When(is_read, then="read_ohm")),
        last_outcome=Case(When(is_read, then="read_outcome")),
        last_reason=Case(When(~is_read, then="not_read")),
    )


def page_of_points(points: QuerySet[TestPoint], start: int, stop: int, *, today: date) -> list[PointRow]:
    """Takes ``points_of`` a day, in whatever order."""
    ids = list(points.values_list("pk", flat=True)[start:stop])
    rows: QuerySet[Any] = TestPoint.objects.filter(pk__in=ids).annotate(
        reading_id=_latest(Reading.objects.standing()), no_reading_id=_latest(NoReading.objects.standing())
    )
    found = in_order_of(ids, rows)
    readings = Reading.objects.select_related("visit", "verdict").in_bulk(
        [row.reading_id for row in found if row.reading_id]
    )
    reasons = NoReading.objects.select_related("visit").in_bulk(
        [row.no_reading_id for row in found if row.no_reading_id]
    )
    return [
        PointRow(
            row,
            _later(readings.get(row.reading_id), reasons.get(row.no_reading_id)),
            retired=row.retired_on is not None and row.retired_on <= today,
        )
        for row in found
    ]


def overdue_points(structure: Structure, owed: Sequence[Owed], today: date) -> set[int]:
    """Ids of the points whose reading is overdue by any obligation that runs.

    Where an obligation still concerns so many of the points, those are meant that were read longest ago. Where
    that many cannot be told apart by the day of their last reading, none is named.
    """
    asked = [each.row.points for each in owed if each.state == "overdue" and each.row.demand != "visual"]
    if not asked:
        return set()
    points = TestPoint.objects.filter(structure=structure).standing_on(today).annotate(
        read=Subquery(
            Reading.objects.standing().filter(point=OuterRef("pk")).order_by("-at").values("at")[:1]
        )
    )  # fmt: skip
    read = dict(points.values_list("pk", "read"))
    named: set[int] = set()
    for number in asked:
        named |= _read_longest_ago(read, len(read) if number is None else number)
    return named


def _read_longest_ago(read: dict[int, datetime | None], number: int) -> set[int]:
    """read: by point, when it was read last; never counts as longest ago"""
    days = {pk: at.date() if at else date.min for pk, at in read.items()}
    if number >= len(days):
        return set(days)
    last = sorted(days.values())[number - 1] if number else None
    found = {pk for pk, day in days.items() if last is not None and day <= last}
    return found if len(found) == number else set()


def _later(reading: Reading | None, reason: NoReading | None) -> Reading | NoReading | None:
    if reading is None or reason is None:
        return reading or reason
    return reading if reading.at >= reason.at else reason


def _latest(rows: QuerySet, column: str = "pk") -> Subquery:
    return Subquery(rows.filter(point=OuterRef("pk")).order_by("-at", "-pk").values(column)[:1])


class Issued(NamedTuple):
    """One issue of a report."""

    pk: int
    number: int
    issue: int
    withdrawn: bool


@dataclass(slots=True)
class VisitPast:
    """A visit on the lead. day: its local day; read of asked points, None where it reads none; looked: its parts"""

    visit: Visit
    day: date
    read: int | None = None
    asked: int | None = None
    looked: Looked = field(default_factory=Looked)
    issues: list[Issued] = field(default_factory=list)


def history(structure: Structure, zone: ZoneInfo, start: int, stop: int) -> list[VisitPast]:
    """Visits of a structure, the latest first, in a constant number of queries."""
    of_this = Visit.objects.filter(structure=structure).select_related("structure__site")
    visits = list(of_this.order_by("-planned_on", "-pk")[start:stop])
    found = [VisitPast(visit, visit.day_at(zone)) for visit in visits]
    ids = [visit.pk for visit in visits]
    # The reports' app stands above this one; its rows are reached through the visit's own relation.
    reports = Visit.objects.filter(pk__in=ids, issues__isnull=False).order_by("issues__issue")
    columns = ("pk", "issues__pk", "issues__number", "issues__issue", "issues__withdrawal__pk")
    for pk, issue, number, edition, withdrawal in reports.values_list(*columns):
        past = next(row for row in found if row.visit.pk == pk)
        past.issues.append(Issued(issue, number, edition, withdrawal is not None))
    _count_points(structure, found)
    looked = looking.of_visits(visits)
    for row in found:
        row.looked = looked[row.visit.pk]
    return found


def _count_points(structure: Structure, found: Sequence[VisitPast]) -> None:
    """Sets asked and read. Points are counted by the days they stood, since each visit has a day of its own."""
    ids = [row.visit.pk for row in found]
    of_structure = _grouped(TestPoint.objects.filter(structure=structure), "since", "retired_on")
    span = ("point__since", "point__retired_on")
    listed = _grouped(VisitPoint.objects.filter(visit__in=ids), "visit", *span)
    on_list = Exists(VisitPoint.objects.filter(visit=OuterRef("visit"), point=OuterRef("point")))
    readings = Reading.objects.standing().filter(visit__in=ids).annotate(on_list=on_list)
    read = _grouped(readings, "visit", "on_list", *span, count="point")
    for row in found:
        if row.visit.kind in WITHOUT_READINGS:
            continue
        own = [group[1:] for group in listed if group[0] == row.visit.pk]
        row.asked = _standing(own or of_structure, row.day)
        counted = [group[2:] for group in read if group[0] == row.visit.pk and (group[1] or not own)]
        row.read = _standing(counted, row.day)


def _grouped(rows: QuerySet, *by: str, count: str = "pk") -> list[tuple[Any, ...]]:
    return list(rows.order_by().values_list(*by).annotate(number=Count(count, distinct=True)))


def _standing(groups: Sequence[tuple[Any, ...]], day: date) -> int:
    """How many of the points, in groups (since, retired on, number), stood on a day."""
    return sum(
        number
        for since, retired_on, number in groups
        if since <= day and (retired_on is None or retired_on > day)
    )


def last_ended(structure: Structure) -> Visit | None:
    """The last visit that ended."""
    done = Visit.objects.filter(structure=structure, on_site_until__isnull=False)
    return done.order_by("-on_site_until", "-pk").first()


@dataclass(frozen=True, slots=True)
class Happening:
    """An event or a suspension. since, until: when it was so; recorded: the local day it was recorded

    event: its key, None for a suspension; withdrawn: why it was, and the local day of that
    """

    what: str
    words: str
    since: date
    until: date | None
    open_ended: bool
    recorded: date
    by: str
    event: int | None = None
    withdrawn: EventWithdrawal | None = None
    withdrawn_on: date | None = None


def happenings(structure: Structure, zone: ZoneInfo) -> list[Happening]:
    """Events and suspensions, the latest first."""
    events = Event.objects.filter(structure=structure).select_related("withdrawal__by").order_by("-on", "-pk")
    rows = []
    for event in events[:MOST_HAPPENINGS]:
        withdrawn: EventWithdrawal | None = getattr(event, "withdrawal", None)
        happening = Happening(
            what=event.get_kind_display().capitalize(),
            words=event.words or f"to be inspected {within(event.inspect_within_days)}",
            since=event.on,
            until=None,
            open_ended=False,
            recorded=event.recorded_at.astimezone(zone).date(),
            by=event.reported_by,
            event=event.pk,
            withdrawn=withdrawn,
            withdrawn_on=withdrawn.recorded_at.astimezone(zone).date() if withdrawn else None,
        )
        rows.append(happening)
    stops = (
        Suspension.objects.with_end().filter(structure=structure).order_by("-since", "-pk")[:MOST_HAPPENINGS]
    )
    rows += [
        Happening(
            what="Out of use",
            words="inspected before it returns to use" if stop.return_inspection else "",
            since=stop.since,
            until=stop.ends_on,
            open_ended=stop.ends_on is None,
            recorded=stop.recorded_at.astimezone(zone).date(),
            by=stop.authority,
        )
        for stop in stops
    ]
    return sorted(rows, key=lambda row: row.since, reverse=True)
