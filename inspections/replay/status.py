"""How a structure stood on a day: pure, from the facts of a batch."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice
from typing import cast
from zoneinfo import ZoneInfo

from inspections.models import DONE, IntervalRule, VisitState
from inspections.replay.facts import (
    Detail,
    Done,
    Gathered,
    Happened,
    Piece,
    Place,
    Point,
    Span,
    Stop,
    gather,
)
from inspections.replay.knowledge import Known, is_known
from inspections.replay.rules_then import Adopted, RuleBook, RuleThen, read_rules
from inspections.replay.zones import placed
from inspections.rules import due_dates
from sites.models import VisitKind

BATCH = 500
NOT_RUNNING = ("suspended", "no longer applies")


@dataclass(frozen=True, slots=True)
class Stated:
    """One obligation on the day asked about. Of rule, event and suspension one is given: what asks for it."""

    obligation: due_dates.Obligation
    rule: IntervalRule | None = None
    event: Happened | None = None
    suspension: Stop | None = None

    @property
    def runs(self) -> bool:
        return self.obligation.state not in NOT_RUNNING


@dataclass(frozen=True, slots=True)
class Status:
    """How a structure stood on a day.

    place: with the zone that held then; detail: what it was like then, None where the record has nothing for that day
    """

    place: Place
    day: date
    known_by: Known
    detail: Detail | None
    rows: tuple[Stated, ...]

    @property
    def governing(self) -> Stated | None:
        """The earliest that runs; of equal days the first."""
        return min((row for row in self.rows if row.runs), key=lambda row: row.obligation.due, default=None)


def status_on(
    structures: Iterable[int],
    day: date,
    *,
    known_by: Known = None,
    supposing: Mapping[int, Adopted] | None = None,
) -> Iterator[Status]:
    """How these structures stood on a civil day at their sites, batch by batch, in the order of the ids.

    known_by: None for as it was, by every fact held now; else as the record knew it (see ``Known``)
    supposing: adoptions by their edition's id, as they might be instead of as they are
    """
    book: RuleBook | None = None
    for batch in batches(structures):
        found = gather(batch, with_steps=known_by is not None)
        if book is None or not {place.firm for place in found.places} <= book.firms:
            book = read_rules(
                {place.firm for place in found.places} | (book.firms if book else set()), supposing
            )
        for place in found.places:
            yield status_of(place, found, book, day, known_by)


def batches(structures: Iterable[int]) -> Iterator[list[int]]:
    """The ids in lists of at most ``BATCH``."""
    remaining = iter(structures)
    while batch := list(islice(remaining, BATCH)):
        yield batch


def status_of(place: Place, found: Gathered, book: RuleBook, day: date, known_by: Known = None) -> Status:
    """How one structure of a gathered batch stood."""
    place, before = placed(place, found, day, known_by)
    detail = detail_on(found.details[place.pk], day, before)
    if detail is None or not is_known(place.recorded_at, before):
        return Status(place, day, known_by, None, ())
    rules = rules_on(place, detail, book, before)
    asked = _Asked(place, found, book, day, before)
    rows = [*asked.visual(rules), *asked.measured(rules)]
    return Status(place, day, known_by, detail, tuple(rows))


def detail_on(details: Sequence[Detail], day: date, before: datetime | None) -> Detail | None:
    """What the structure was like on a day. details: the latest day first, of one day the row recorded last first"""
    return next((row for row in details if row.since <= day and is_known(row.recorded_at, before)), None)


def rules_on(place: Place, detail: Detail, book: RuleBook, before: datetime | None) -> list[RuleThen]:
    """The rules that stand on a structure as it was described."""
    return [
        rule
        for rule in book.then(place.firm, before).at(
            client=place.client, site=place.site, structure=place.pk
        )
        if fits(rule.row, detail)
    ]  # fmt: skip


def fits(rule: IntervalRule, detail: Detail) -> bool:
    """Whether a rule asks of a structure by what it was described as; where it stands is not looked at."""
    return (
        rule.explosion_risk in (None, detail.explosion_risk)
        and rule.critical in (None, detail.critical)
        and (not rule.classes or detail.protection_class in rule.classes.split(","))
    )


class _Asked:
    """What is asked of one structure on a day, with the facts known by a moment."""

    def __init__(
        self, place: Place, found: Gathered, book: RuleBook, day: date, before: datetime | None
    ) -> None:
        self.place, self.found, self.book, self.day, self.before = place, found, book, day, before
        self.zone = ZoneInfo(place.time_zone)
        self.visits = list(self._visits())
        self.suspensions = [
            due_dates.Suspension(
                id=f"suspension {row.pk}",
                from_=row.since,
                until=self._end_of(row),
                recorded=row.recorded_at,
                return_inspection=row.return_inspection,
            )
            for row in found.suspensions[place.pk]
            if is_known(row.recorded_at, before)
        ]
        self.numbers = self._numbers()

    def visual(self, rules: Sequence[RuleThen]) -> Iterator[Stated]:
        """What was looked at counts part by part."""
        wanted = [rule for rule in rules if rule.counted.demand == "visual"]
        for row in self._answer(wanted, (), ()):
            if not row.rule.startswith("suspension "):
                yield self._stated(row, wanted)

    def measured(self, rules: Sequence[RuleThen]) -> Iterator[Stated]:
        """What was measured counts point by point; a complete inspection by parts as well."""
        wanted = [rule for rule in rules if rule.counted.demand != "visual"]
        events = [
            due_dates.Event(f"event {row.pk}", row.kind, row.on, row.recorded_at, row.within_days)
            for row in self.found.events[self.place.pk]
            if self._counts(row.recorded_at, row.ended_at)
        ]
        for row in self._answer(wanted, events, tuple(self.numbers.values())):
            yield self._stated(row, wanted)

    def _answer(
        self,
        rules: Sequence[RuleThen],
        events: Sequence[due_dates.Event],
        points: Sequence[str],
    ) -> Sequence[due_dates.Obligation]:
        return due_dates.obligations(
            time_zone=self.zone,
            rules=[rule.counted for rule in rules],
            visits=[
                _done(visit, until, self._covered(read), self._seen(visit, until))
                for visit, until, read in self.visits
            ],
            points=points,
            parts=[str(part.identity) for part in self._pieces(self.day)],
            events=events,
            suspensions=self.suspensions,
            dispensations=self.book.dispensations_at(
                rules,
                client=self.place.client,
                site=self.place.site,
                structure=self.place.pk,
                day=self.day,
                before=self.before,
            ),
            on=self.day,
        ).obligations

    def _stated(self, row: due_dates.Obligation, rules: Sequence[RuleThen]) -> Stated:
        kind, _, pk = row.rule.partition(" ")
        if kind == "event":
            happened = next(one for one in self.found.events[self.place.pk] if one.pk == int(pk))
            return Stated(row, event=happened)
        if kind == "suspension":
            stop = next(one for one in self.found.suspensions[self.place.pk] if one.pk == int(pk))
            return Stated(row, suspension=stop)
        return Stated(row, rule=next(rule.row for rule in rules if rule.counted.id == row.rule))

    # What was known of visits, points and suspensions ----------------------------------------------------------

    def _visits(self) -> Iterator[tuple[Done, datetime, Collection[int] | None]]:
        """Visits that counted: each with when it ended, and the points it read (None for all that stood)."""
        for visit in self.found.visits[self.place.pk]:
            until = ended_at(visit, self.found, self.before)
            if until is not None:
                yield visit, until, self._read(visit, until)

    def _read(self, visit: Done, until: datetime) -> Collection[int] | None:
        if visit.kind == VisitKind.VISUAL:
            return None
        owed = self._owed(until.astimezone(self.zone).date())
        taken = self.found.taken.get(visit.pk)
        if taken is None:
            return None if self.found.read.get(visit.pk, 0) >= owed else ()
        read = {one.point for one in taken if self._counts(one.recorded_at, one.ended_at)}
        return None if len(read) >= owed else read

    def _pieces(self, day: date) -> list[Piece]:
        """The parts that stood on a day."""
        return [
            part
            for part in self.found.parts[self.place.pk]
            if part.since is not None and part.since <= day and is_known(part.recorded_at, self.before)
        ]

    def _seen(self, visit: Done, until: datetime) -> due_dates.Points:
        """All, where no part that stood on the visit's day was left, or parts were not recorded one by one."""
        looked = [one for one in self.found.looked[visit.pk] if self._counts(one.recorded_at, one.ended_at)]
        if not looked:
            return "all"
        seen = {one.part for one in looked if one.covers}
        owed = self._pieces(until.astimezone(self.zone).date())
        left = {part.pk for part in owed if part.pk not in seen}
        everything = self.found.parts[self.place.pk]
        return frozenset(str(part.identity) for part in everything if part.pk not in left) if left else "all"

    def _owed(self, day: date) -> int:
        """How many points stood on the day of a visit."""
        spans = self.found.spans[self.place.pk]
        if any(span.retired_on for span in spans):
            return sum(1 for point in self.found.points[self.place.pk] if self._stood(point, day))
        return sum(span.number for span in spans if self._stands(span, day, None))

    def _stood(self, point: Point, day: date) -> bool:
        return self._stands(point, day, self.found.retired_at.get(point.pk))

    def _counts(self, recorded_at: datetime, ended_at: datetime | None) -> bool:
        return is_known(recorded_at, self.before) and (
            ended_at is None or not is_known(ended_at, self.before)
        )

    def _stands(self, row: Point | Span, day: date, retired_at: datetime | None) -> bool:
        """Whether a point, or a group of them, stood on a day. retired_at: when its end was recorded, if it was"""
        since, retired_on, recorded_at = row.since, row.retired_on, row.recorded_at
        if since > day or not is_known(recorded_at, self.before):
            return False
        if retired_on is None or retired_on > day:
            return True
        return retired_at is not None and not is_known(retired_at, self.before)

    def _covered(self, read: Collection[int] | None) -> due_dates.Points:
        if read is None:
            return "all"
        return frozenset(self.numbers[point] for point in read if point in self.numbers)

    def _numbers(self) -> dict[int, str]:
        """The points that stood on the day, by the number each carried then; in the order of the record."""
        standing = [point for point in self.found.points[self.place.pk] if self._stood(point, self.day)]
        named = {point.pk: self._number(point) for point in standing}
        taken = list(named.values())
        return {
            pk: number if taken.count(number) == 1 else f"{number} ({pk})" for pk, number in named.items()
        }

    def _number(self, point: Point) -> str:
        rows = self.found.numbers[point.pk]
        known = (n for n, since, at in rows if since <= self.day and is_known(at, self.before))
        return next(known, point.number)

    def _end_of(self, stop: Stop) -> date | None:
        ends = (row for row in self.found.ends[stop.pk] if is_known(row.recorded_at, self.before))
        stated = next(ends, None)
        return stop.until if stated is None else stated.last_day


def ended_at(visit: Done, found: Gathered, before: datetime | None) -> datetime | None:
    """When a visit ended, if it counted as known by a moment: not while it was on site, planned or sent back."""
    if before is None:
        return visit.until if visit.state in DONE else None
    turns = found.steps.get(visit.pk) or ()
    if not any(step.state == VisitState.FIELD_COMPLETE for step in turns):
        return visit.until if visit.state in DONE and visit.recorded_at < before else None
    known = [step for step in turns if step.recorded_at < before]
    if not known or known[-1].state != VisitState.FIELD_COMPLETE:
        return None
    return known[-1].at


def _done(
    visit: Done, until: datetime, points: due_dates.Points, parts: due_dates.Points
) -> due_dates.VisitDone:
    kind = cast(due_dates.VisitKind, visit.kind)
    return due_dates.VisitDone(str(visit.pk), kind, until, visit.recorded_at, points, parts)
