"""Refreshing the derived due dates, in the transaction of the fact they hang on."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import islice
from typing import NamedTuple, cast
from zoneinfo import ZoneInfo

from django.db.models import Count, Min

from inspections.models import (
    COVERS,
    DONE,
    Dispensation,
    DueDate,
    Event,
    IntervalRule,
    PartLook,
    Reading,
    Suspension,
    Visit,
    season_months,
)
from inspections.rules import due_dates
from sites.actions.register import shown
from sites.models import Part, Structure, StructureDetail, TestPoint, VisitKind

BATCH = 500


def refresh(structures: Iterable[int], *, at: datetime) -> None:
    """Replace the stored due dates of these structures by what the facts give now.

    structures: ids; at: the instant of the act, whose local day at each site is "today"
    Called within the transaction of the act, before it locks the log's head.
    """
    for chunk in _chunks(sorted(set(structures))):
        # Whoever reckons a structure's due dates waits for whoever is at it, then reads what they left. Sorted, so
        # that two who reckon many wait in one order.
        locked = Structure.objects.filter(pk__in=chunk).order_by("pk").select_for_update(no_key=True)
        list(locked.values_list("pk"))
        rows = [row for found in reckon(chunk, at=at) for row in found]
        DueDate.objects.filter(structure__in=chunk).delete()
        DueDate.objects.bulk_create(rows, batch_size=BATCH)


def _chunks(structures: Iterable[int]) -> Iterator[list[int]]:
    remaining = iter(structures)
    while chunk := list(islice(remaining, BATCH)):
        yield chunk


Adopted = tuple[date | None, date | None]
"""First and last day of an adoption; no first day where there is none, no last day while it is open."""


def reckon(
    structures: Sequence[int],
    *,
    at: datetime,
    on: date | None = None,
    supposing: Mapping[int, Adopted] | None = None,
) -> Iterator[list[DueDate]]:
    """Unsaved due dates, a list for each of these structures, from the facts on record.

    on: the day asked about; None for the day of ``at`` at each site
    supposing: adoptions of intervals, by their ids, as they might be instead of as they are
    """
    known = _Facts.of(structures, supposing or {})
    for structure in known.structures:
        yield _due_dates(structure, known, on or structure.site.day_at(at))


class _Point(NamedTuple):
    """What of a point its due dates hang on: there may be very many."""

    pk: int
    structure_id: int
    number: str
    since: date
    retired_on: date | None


class _Part(NamedTuple):
    """What of a part its due dates hang on. key: its identity, as text"""

    pk: int
    structure_id: int
    key: str
    since: date | None


@dataclass(slots=True)
class _Facts:
    """Everything the due dates of some structures hang on, fetched in a constant number of queries.

    dispensations are by rule, everything else that is kept apart by structure
    left_out: visits that read fewer points than stood on their day, each with the points it read
    parts: of structures where a visit may have left some out
    seen: ids of the parts each visit saw, of visits that recorded them one by one and may have left some out
    """

    structures: list[Structure]
    rules: list[IntervalRule]
    visits: dict[int, list[Visit]] = field(default_factory=lambda: defaultdict(list))
    events: dict[int, list[Event]] = field(default_factory=lambda: defaultdict(list))
    suspensions: dict[int, list[Suspension]] = field(default_factory=lambda: defaultdict(list))
    dispensations: dict[int, list[Dispensation]] = field(default_factory=lambda: defaultdict(list))
    points: dict[int, list[_Point]] = field(default_factory=lambda: defaultdict(list))
    left_out: dict[int, set[int]] = field(default_factory=dict)
    parts: dict[int, list[_Part]] = field(default_factory=lambda: defaultdict(list))
    seen: dict[int, set[int]] = field(default_factory=dict)
    details: dict[int, list[StructureDetail]] = field(default_factory=lambda: defaultdict(list))

    @classmethod
    def of(cls, ids: Sequence[int], supposing: Mapping[int, Adopted]) -> "_Facts":
        structures = list(Structure.objects.filter(pk__in=ids).select_related("site__client__firm"))
        firms = {structure.site.client.firm_id for structure in structures}
        rules = IntervalRule.objects.filter(firm__in=firms).with_adoption().order_by("pk")
        for rule in rules:
            if rule.pk in supposing:
                rule.adopted_from, rule.adopted_until = supposing[rule.pk]
        known = cls(structures, [rule for rule in rules if rule.adopted_from is not None])
        for row in Dispensation.objects.standing().filter(interval__firm__in=firms).order_by("pk"):
            known.dispensations[row.interval_id].append(row)
        done = Visit.objects.filter(structure__in=ids, state__in=DONE).order_by("on_site_until", "pk")
        known._sort(known.visits, done)
        known._sort(known.events, Event.objects.standing().filter(structure__in=ids).order_by("on", "pk"))
        known._sort(
            known.suspensions, Suspension.objects.with_end().filter(structure__in=ids).order_by("since", "pk")
        )
        points = TestPoint.objects.filter(structure__in=ids).order_by().values_list(*_Point._fields)
        known._sort(known.points, map(_Point._make, points.iterator(chunk_size=BATCH)))
        described = StructureDetail.objects.filter(structure__in=ids).order_by(
            "-since", "-recorded_at", "-pk"
        )
        known._sort(known.details, described)
        known._read(ids)
        known._look(ids)
        return known

    def _read(self, ids: Sequence[int]) -> None:
        """A count answers for most visits; only those that left points out are read point by point."""
        standing = Reading.objects.standing().order_by()
        counted = standing.filter(visit__structure__in=ids, visit__state__in=DONE)
        read = dict(counted.values_list("visit").annotate(n=Count("point", distinct=True)))
        for structure in self.structures:
            zone = ZoneInfo(structure.site.time_zone)
            for visit in self.visits[structure.pk]:
                if visit.kind == VisitKind.VISUAL or visit.on_site_until is None:
                    continue
                day = visit.on_site_until.astimezone(zone).date()
                owed = sum(1 for point in self.points[structure.pk] if _stands(point, day))
                if read.get(visit.pk, 0) < owed:
                    self.left_out[visit.pk] = set()
        if self.left_out:
            rows = standing.filter(visit__in=list(self.left_out)).values_list("visit", "point")
            for pk, point in rows.iterator(chunk_size=BATCH):
                self.left_out[pk].add(point)

    def _look(self, ids: Sequence[int]) -> None:
        """Parts one by one, only where a visit saw fewer than there are."""
        looks = PartLook.objects.standing().filter(visit__structure__in=ids, visit__state__in=DONE).order_by()
        listed: dict[int, int] = {}
        structure_of: dict[int, int] = {}
        for visit, structure, outcome, number in looks.values_list(
            "visit", "visit__structure", "outcome"
        ).annotate(n=Count("pk")):
            structure_of[visit] = structure
            listed[visit] = listed.get(visit, 0) + (number if outcome in COVERS else 0)
        if not listed:
            return
        counted = Part.objects.filter(structure__in=set(structure_of.values())).order_by()
        number_of = dict(counted.values_list("structure").annotate(n=Count("pk")))
        short = {visit for visit, seen in listed.items() if seen < number_of.get(structure_of[visit], 0)}
        if not short:
            return
        self.seen = {visit: set() for visit in short}
        for visit, part in looks.filter(visit__in=short, outcome__in=COVERS).values_list("visit", "part"):
            self.seen[visit].add(part)
        parts = counted.filter(structure__in={structure_of[visit] for visit in short})
        for pk, structure, identity, since in (
            parts.order_by("pk").annotate(since=Min("details__since"))
            .values_list("pk", "structure", "identity", "since")
        ):  # fmt: skip
            self.parts[structure].append(_Part(pk, structure, str(identity), since))

    @staticmethod
    def _sort(into: dict, rows: Iterable) -> None:
        for row in rows:
            into[row.structure_id].append(row)


def _due_dates(structure: Structure, known: _Facts, today: date) -> list[DueDate]:
    """What was looked at counts part by part, what was measured point by point, a complete inspection by both.
    Visual demands come before the others."""
    if not _describe(structure, known, today):
        return []
    rules = [rule for rule in known.rules if applies(rule, structure)]
    visual = [rule for rule in rules if rule.demand == "visual"]
    measured = [rule for rule in rules if rule.demand != "visual"]
    found = [
        row
        for row in _answer(structure, known, today, visual, alone=True)
        if not row.rule.startswith("suspension ")
    ]
    found += _answer(structure, known, today, measured, alone=False)
    events = {f"event {row.pk}": row for row in known.events[structure.pk]}
    given = _given(structure, known, rules, today)
    return _rows(structure, {str(rule.pk): rule for rule in rules}, events, given, found)


def _given(
    structure: Structure, known: _Facts, rules: Sequence[IntervalRule], today: date
) -> list[Dispensation]:
    """The dispensations that reach this structure and had been given."""
    return [
        row
        for rule in rules
        for row in known.dispensations[rule.pk]
        if row.given_on <= today and row.holds_at(structure)
    ]


def _describe(structure: Structure, known: _Facts, day: date) -> bool:
    """Sets on the row in hand what the structure is like on a day: a description may have been given beforehand.

    Returns: whether it is described for that day at all
    """
    detail = next((row for row in known.details[structure.pk] if row.since <= day), None)
    if detail is None:
        return False
    for name in ("protection_class", "critical", "explosion_risk"):
        setattr(structure, name, getattr(detail, name))
    return True


def _answer(
    structure: Structure, known: _Facts, today: date, rules: Sequence[IntervalRule], *, alone: bool
) -> Sequence[due_dates.Obligation]:
    """What these rules ask for. alone: without what events ask for"""
    standing = [point.number for point in known.points[structure.pk] if _stands(point, today)]
    events = [
        due_dates.Event(f"event {row.pk}", row.kind, row.on, row.recorded_at, row.inspect_within_days)
        for row in known.events[structure.pk]
    ]
    suspensions = [
        due_dates.Suspension(
            f"suspension {row.pk}", row.since, row.ends_on, row.recorded_at, row.return_inspection
        )
        for row in known.suspensions[structure.pk]
    ]
    return due_dates.obligations(
        time_zone=structure.site.time_zone,
        rules=[counted(rule) for rule in rules],
        visits=_visits(structure, known, today),
        points=standing,
        parts=[part.key for part in known.parts[structure.pk] if _is_described(part, today)],
        events=() if alone else events,
        suspensions=suspensions,
        dispensations=[
            due_dates.Dispensation(str(row.interval_id), row.until, row.document, row.recorded_at)
            for row in _given(structure, known, rules, today)
        ],
        on=today,
    ).obligations


def applies(rule: IntervalRule, structure: Structure) -> bool:
    """Whether a rule stands on a structure as it is described on the row in hand."""
    return (
        rule.firm_id == structure.site.client.firm_id
        and rule.structure_id in (None, structure.pk)
        and rule.site_id in (None, structure.site_id)
        and rule.client_id in (None, structure.site.client_id)
        and rule.explosion_risk in (None, structure.explosion_risk)
        and rule.critical in (None, structure.critical)
        and (not rule.classes or structure.protection_class in rule.classes.split(","))
    )


def counted(rule: IntervalRule) -> due_dates.IntervalRule:
    """The rule as it is counted. Raises: ValueError where it contradicts itself"""
    return due_dates.IntervalRule(
        id=str(rule.pk),
        demand=cast(due_dates.Demand, rule.demand),
        basis=cast(due_dates.Basis, rule.basis),
        months=rule.months,
        anchor=rule.anchor,
        period=cast(due_dates.Period, rule.period) if rule.period else None,
        seasons=season_months(rule.seasons),
        use_on=rule.use_on,
        early_days=rule.early_days,
        grace_days=rule.grace_days,
        adopted_from=getattr(rule, "adopted_from", None),
        adopted_until=getattr(rule, "adopted_until", None),
        recorded=rule.recorded_at,
        name=rule.author_name,
    )


def _visits(structure: Structure, known: _Facts, today: date) -> list[due_dates.VisitDone]:
    zone = ZoneInfo(structure.site.time_zone)
    return [
        due_dates.VisitDone(
            id=f"visit {visit.number}",
            kind=cast(due_dates.VisitKind, visit.kind),
            finished=visit.on_site_until,
            recorded=visit.on_site_until,
            points_covered=_covered(structure, visit, known, today),
            parts_covered=_looked_at(structure, visit, known, visit.on_site_until.astimezone(zone).date()),
        )
        for visit in known.visits[structure.pk]
        if visit.on_site_until is not None
    ]


def _covered(structure: Structure, visit: Visit, known: _Facts, today: date) -> due_dates.Points:
    """All, where every point that stood on the visit's day was read; else the points that were."""
    read = known.left_out.get(visit.pk)
    if read is None:
        return "all"
    return frozenset(
        point.number for point in known.points[structure.pk] if point.pk in read and _stands(point, today)
    )


def _looked_at(structure: Structure, visit: Visit, known: _Facts, day: date) -> due_dates.Points:
    """All, where every part that stood on the visit's day was seen, or parts were not recorded one by one; else all
    but those it left: a part that came later was not left by it."""
    if visit.pk not in known.seen:
        return "all"
    seen, parts = known.seen[visit.pk], known.parts[structure.pk]
    left = {part.key for part in parts if part.pk not in seen and _is_described(part, day)}
    return frozenset(part.key for part in parts if part.key not in left) if left else "all"


def _is_described(part: _Part, day: date) -> bool:
    return part.since is not None and part.since <= day


def _stands(point: _Point, day: date) -> bool:
    """As ``TestPointQuerySet.standing_on``, for a row already fetched."""
    return point.since <= day and (point.retired_on is None or point.retired_on > day)


def _rows(
    structure: Structure,
    rules: dict[str, IntervalRule],
    events: dict[str, Event],
    given: Sequence[Dispensation],
    found: Sequence[due_dates.Obligation],
) -> list[DueDate]:
    site = structure.site
    running = [row for row in found if row.state not in ("suspended", "no longer applies")]
    first = min(running, key=lambda row: row.due, default=None)
    rows = []
    for one in found:
        row = DueDate(
            firm_id=site.client.firm_id,
            client_id=site.client_id,
            site=site,
            structure=structure,
            rule=rules.get(one.rule),
            event_id=_id_of(one.rule, "event "),
            suspension_id=_id_of(one.rule, "suspension "),
            dispensation=_dispensation(one, given),
            demand=one.demand,
            author=rules[one.rule].author_name if one.rule in rules else _without_rule(one.rule, events),
            points=None if one.points == "all" else len(one.points),
            parts=len(one.parts) if one.parts != "all" and one.parts else None,
            due=one.due,
            grace_until=one.grace_until,
            applies_until=getattr(rules.get(one.rule), "adopted_until", None),
            suspended=one.state == "suspended",
            overdue_since=one.overdue_since if one.state == "suspended" else None,
            governs=one is first,
            why=one.why,
        )
        row.reckoned = one
        rows.append(row)
    return rows


def _dispensation(row: due_dates.Obligation, given: Sequence[Dispensation]) -> Dispensation | None:
    """The one that moved the consequence of this row, None where none did."""
    if row.allowed_until is None:
        return None
    return next(one for one in given if str(one.interval_id) == row.rule and one.until == row.allowed_until)


def _id_of(rule: str, kind: str) -> int | None:
    return int(rule.removeprefix(kind)) if rule.startswith(kind) else None


def _without_rule(rule: str, events: dict[str, Event]) -> str:
    """Who asks, where it is no rule: what happened, or the end of a suspension."""
    if event := events.get(rule):
        return f"Event: {event.get_kind_display()}, {shown(event.on)}"
    return "Return to use"
