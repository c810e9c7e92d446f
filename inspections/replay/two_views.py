"""The two answers of one day side by side, what they rest on, and which facts make them differ."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import zip_longest
from zoneinfo import ZoneInfo

from inspections.models import EventKind, IntervalRule
from inspections.replay.facts import Gathered, Place, gather
from inspections.replay.knowledge import Known, is_known
from inspections.replay.rules_then import RuleBook, read_rules
from inspections.replay.status import (
    Stated,
    Status,
    batches,
    detail_on,
    ended_at,
    rules_on,
    status_of,
)
from inspections.replay.zones import placed
from inspections.rules.due_dates.coverage import EVENT_MET_BY, SATISFIED_BY
from inspections.rules.due_dates.events import within
from sites.actions.register import shown
from sites.models import VisitKind


@dataclass(frozen=True, slots=True)
class FactLine:
    """One fact that an answer rests on. so: the day since which it was so; recorded: when the record learned of it

    known: whether the record knew it by the moment asked about; visit, kind: its key and its kind, for a visit
    """

    what: str
    words: str
    so: date
    recorded: datetime
    known: bool
    visit: int | None = None
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Pair:
    """One obligation in both answers; None where an answer does not have it."""

    was: Stated | None
    known: Stated | None

    @property
    def differs(self) -> bool:
        return _same(self.was) != _same(self.known)

    @property
    def either(self) -> Stated:
        found = self.was or self.known
        if found is None:
            raise ValueError("A pair has at least one side.")
        return found


@dataclass(frozen=True, slots=True)
class TwoViews:
    """A structure on a day: as it was, and as the record knew it.

    facts: everything both rest on, in the order of when it was so
    """

    was: Status
    known: Status
    pairs: tuple[Pair, ...]
    facts: tuple[FactLine, ...]

    @property
    def place(self) -> Place:
        return self.was.place

    def overdue(self, answer: str) -> list[Pair]:
        """What is overdue in one of the answers, "was" or "known"."""
        sides = ((pair, pair.was if answer == "was" else pair.known) for pair in self.pairs)
        return [pair for pair, side in sides if side is not None and side.obligation.state == "overdue"]

    @property
    def differs(self) -> bool:
        return any(pair.differs for pair in self.pairs) or (self.was.detail is None) != (
            self.known.detail is None
        )

    def late(self, pair: Pair | None) -> list[FactLine]:
        """What had not been recorded by then and bears on an obligation: of visits, those that could meet it."""
        met_by = _met_by(pair)
        return [
            line
            for line in self.facts
            if not line.known and (not line.kind or met_by is None or line.kind in met_by)
        ]


def _met_by(pair: Pair | None) -> Collection[str] | None:
    """The kinds of visit that could meet it; None for any."""
    if pair is None or pair.either.suspension is not None:
        return None
    return EVENT_MET_BY if pair.either.event is not None else SATISFIED_BY[pair.either.obligation.demand]


def both_views(structures: Iterable[int], day: date, known_by: Known) -> Iterator[TwoViews]:
    """Both answers for these structures, in a constant number of queries a batch, in the order of the ids."""
    book: RuleBook | None = None
    for batch in batches(structures):
        found = gather(batch)
        firms = {place.firm for place in found.places}
        if book is None or not firms <= book.firms:
            book = read_rules(firms | (book.firms if book else set()))
        for place in found.places:
            yield _views(place, found, book, day, known_by)


def _views(place: Place, found: Gathered, book: RuleBook, day: date, known_by: Known) -> TwoViews:
    was = status_of(place, found, book, day)
    known = status_of(place, found, book, day, known_by)
    facts = sorted(_facts(place, found, book, day, known_by), key=lambda line: (line.so, line.recorded))
    return TwoViews(was, known, tuple(_pairs(was, known)), tuple(facts))


def _pairs(was: Status, known: Status) -> Iterator[Pair]:
    """The same obligation of the same author stands beside itself, by due day where a visit left a part."""
    sides: dict[tuple[object, ...], tuple[list[Stated], list[Stated]]] = defaultdict(lambda: ([], []))
    for number, status in enumerate((was, known)):
        for row in sorted(status.rows, key=lambda row: row.obligation.due):
            sides[(row.obligation.rule, row.obligation.demand)][number].append(row)
    for first, second in sides.values():
        for one, other in zip_longest(first, second):
            yield Pair(one, other)


def _same(row: Stated | None) -> tuple[object, ...] | None:
    if row is None:
        return None
    owed = row.obligation
    return (
        owed.due,
        owed.grace_until,
        owed.state,
        owed.overdue_since,
        owed.days_overdue,
        owed.points,
        owed.parts,
    )


def _facts(place: Place, found: Gathered, book: RuleBook, day: date, known_by: Known) -> Iterator[FactLine]:
    zone = ZoneInfo(placed(place, found, day, None)[0].time_zone)
    before = placed(place, found, day, known_by)[1]
    yield from _zones(place, found, day, before)
    yield from _described(place, found, day, before)
    yield from _adopted(place, found, book, day, before)
    for visit in found.visits[place.pk]:
        now, then = ended_at(visit, found, None), ended_at(visit, found, before)
        until = now or then
        if until is None or until.astimezone(zone).date() > day:
            continue
        ends = [step.recorded_at for step in found.steps[visit.pk] if step.state == "field complete"]
        recorded = ends[-1] if ends else visit.recorded_at
        words = f"{VisitKind(visit.kind).label}, ended {shown(until.astimezone(zone).date())}"
        if now is None:
            words += "; sent back since and not counted now"
        yield FactLine(
            f"Visit {visit.number}", words, until.astimezone(zone).date(), recorded,
            then is not None and now is not None, visit.pk, visit.kind,
        )  # fmt: skip
        for corrected in {one.ended_at for one in found.looked[visit.pk] if one.ended_at is not None}:
            if not is_known(corrected, before):
                yield FactLine(
                    f"Visit {visit.number}, parts", "what was seen, corrected",
                    until.astimezone(zone).date(), corrected, False, visit.pk, visit.kind,
                )  # fmt: skip
        for ended in {one.ended_at for one in found.taken[visit.pk] if one.ended_at is not None}:
            if not is_known(ended, before):
                yield FactLine(
                    f"Visit {visit.number}, readings", "corrected, or withdrawn with their import",
                    until.astimezone(zone).date(), ended, False, visit.pk, visit.kind,
                )  # fmt: skip
    yield from _happened(place, found, day, before)
    yield from _points(place, found, day, before)


def _zones(place: Place, found: Gathered, day: date, before: datetime | None) -> Iterator[FactLine]:
    """Every time zone the site was described with by that day; none where it never changed."""
    rows = found.zones.get(place.site, ())
    if len({row.time_zone for row in rows}) < 2:
        return
    for row in rows:
        if row.since <= day:
            words = f"days counted in {row.time_zone}"
            yield FactLine("Time zone", words, row.since, row.recorded_at, is_known(row.recorded_at, before))


def _described(place: Place, found: Gathered, day: date, before: datetime | None) -> Iterator[FactLine]:
    now, then = (detail_on(found.details[place.pk], day, moment) for moment in (None, before))
    for row in dict.fromkeys(row for row in (then, now) if row is not None):
        marks = [f"class {row.protection_class}" if row.protection_class != "none" else "no class", row.use]
        marks += ["critical"] * row.critical + ["explosion risk"] * row.explosion_risk
        yield FactLine(
            "Described", "; ".join(marks), row.since, row.recorded_at, is_known(row.recorded_at, before)
        )


def _adopted(
    place: Place, found: Gathered, book: RuleBook, day: date, before: datetime | None
) -> Iterator[FactLine]:
    editions = {}
    for moment in (None, before):
        detail = detail_on(found.details[place.pk], day, moment)
        for rule in rules_on(place, detail, book, moment) if detail else ():
            editions[rule.row.pk] = rule.row
    yield from _allowed(place, book, editions.values(), day, before)
    for pk, row in editions.items():
        adoptions = (book.adoption_of(pk, before), book.adoption_of(pk, None))
        for adoption in {one.pk: one for one in adoptions if one is not None}.values():
            if adoption.adopted_from > day:
                continue
            until = f" to {shown(adoption.adopted_until)}" if adoption.adopted_until else ""
            yield FactLine(
                f"Rule of {row.author_name}",
                f"{row.demand}, {row.source}, {row.edition}; adopted {shown(adoption.adopted_from)}{until}",
                adoption.adopted_from, adoption.recorded_at, is_known(adoption.recorded_at, before),
            )  # fmt: skip


def _allowed(
    place: Place, book: RuleBook, editions: Iterable[IntervalRule], day: date, before: datetime | None
) -> Iterator[FactLine]:
    """What the rules' own authors allowed, and took back."""
    for edition in editions:
        for row in book.dispensations.get(edition.pk, ()):
            if row.given_on > day or not row.reaches(
                client=place.client, site=place.site, structure=place.pk
            ):
                continue
            what, words = f"Allowed by {edition.author_name}", f"until {shown(row.until)}: {row.document}"
            yield FactLine(what, words, row.given_on, row.recorded_at, is_known(row.recorded_at, before))
            ended = getattr(row, "withdrawal", None)
            if ended is not None:
                known = is_known(ended.recorded_at, before)
                what = f"Taken back: allowed by {edition.author_name}"
                yield FactLine(what, ended.words, row.given_on, ended.recorded_at, known)


def _happened(place: Place, found: Gathered, day: date, before: datetime | None) -> Iterator[FactLine]:
    for row in found.events[place.pk]:
        if row.on <= day:
            words = f"to be inspected {within(row.within_days)}"
            known = is_known(row.recorded_at, before)
            label = EventKind(row.kind).label
            yield FactLine(label.capitalize(), words, row.on, row.recorded_at, known)
            if row.ended_at is not None:
                known = is_known(row.ended_at, before)
                yield FactLine(
                    f"Withdrawal of the {label}", row.ended_words or "", row.on, row.ended_at, known
                )
    for stop in found.suspensions[place.pk]:
        if stop.since > day:
            continue
        words = f"until {shown(stop.until)}" if stop.until else "until further notice"
        yield FactLine("Out of use", words, stop.since, stop.recorded_at, is_known(stop.recorded_at, before))
        for end in found.ends[stop.pk]:
            known = is_known(end.recorded_at, before)
            yield FactLine(
                "Return to use",
                f"last day out of use {shown(end.last_day)}",
                end.last_day,
                end.recorded_at,
                known,
            )


def _points(place: Place, found: Gathered, day: date, before: datetime | None) -> Iterator[FactLine]:
    for span in found.spans[place.pk]:
        if span.since <= day:
            words = f"{span.number} point{'' if span.number == 1 else 's'} to be read"
            yield FactLine("Points", words, span.since, span.recorded_at, is_known(span.recorded_at, before))
    for point in found.points[place.pk]:
        if point.retired_on is not None and point.retired_on <= day:
            at = found.retired_at[point.pk]
            yield FactLine(
                f"Point {point.number}", "no longer read", point.retired_on, at, is_known(at, before)
            )
