"""How each due day of a structure came about: its rule, the visits that count, the sum, and how it stands on a day."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inspections.actions import due
from inspections.models import DONE, Event, IntervalRule, Suspension, Visit, season_months
from inspections.rule_words import demand_words, where_words
from inspections.rules.due_dates import Obligation, opens
from inspections.rules.due_dates.coverage import EVENT_MET_BY, SATISFIED_BY
from inspections.standing_words import Owed, in_days, share_words, standing_of
from sites.models import Structure, TestPoint
from sites.templatetags.downlead import day as in_words
from sites.templatetags.figures import with_unit

BY_RULE = "Months keep the day of the month, or take its last day; common practice, calendar after ISO 8601"
BY_DAYS = "Days are counted from the day it happened, whenever it was reported; common practice, no published source"
STANDS_BY = (
    "The due day itself is not overdue, nor is the last day of grace; common practice, no published source"
)


class Step(NamedTuple):
    """One line of the working. source: where what it says comes from, empty where it is a fact of this record"""

    name: str
    words: SafeString | str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Working:
    """An obligation with the steps to its due day. same: whether reckoning it again now gives this due day"""

    owed: Owed
    steps: list[Step]
    same: bool


def reckoned(structure: Structure, at: datetime) -> dict[str, Obligation]:
    """What the facts on record give now, by the anchor of the obligation, in a constant number of queries."""
    return {row.anchor: row.reckoned for rows in due.reckon([structure.pk], at=at) for row in rows}


def workings(structure: Structure, owed: Sequence[Owed], at: datetime) -> list[Working]:
    """The working of each, in the order given. owed: what ``structure_record.obligations`` gives"""
    found = reckoned(structure, at)
    facts = _Facts.of(structure, owed, at)
    return [
        Working(one, list(_steps(one, found.get(one.row.anchor), facts)), one.row.anchor in found)
        for one in owed
    ]


@dataclass(frozen=True, slots=True)
class _Facts:
    """What the steps name. visits: that took place, by their day at the site; points: keys by number"""

    structure: Structure
    today: date
    visits: dict[date, list[Visit]]
    points: dict[str, int]
    events: dict[int, Event]
    suspensions: dict[int, Suspension]

    @classmethod
    def of(cls, structure: Structure, owed: Sequence[Owed], at: datetime) -> "_Facts":
        zone = ZoneInfo(structure.site.time_zone)
        today = at.astimezone(zone).date()
        visits: dict[date, list[Visit]] = {}
        for visit in Visit.objects.filter(
            structure=structure, state__in=DONE, on_site_until__isnull=False
        ).order_by("on_site_until", "pk"):
            ended: Any = visit.on_site_until
            visits.setdefault(ended.astimezone(zone).date(), []).append(visit)
        points = TestPoint.objects.filter(structure=structure).standing_on(today).order_by("number_order")
        events = Event.objects.in_bulk([one.row.event_id for one in owed if one.row.event_id])
        stops = Suspension.objects.with_end().filter(structure=structure).in_bulk()
        return cls(structure, today, visits, dict(points.values_list("number", "pk")), events, stops)


def _steps(owed: Owed, made: Obligation | None, facts: _Facts) -> Iterator[Step]:
    row = owed.row
    yield _asked(owed, facts)
    if row.rule is not None:
        yield Step("applies to", f"{where_words(row.rule)[0].upper()}{where_words(row.rule)[1:]}.")
    if made is None:
        yield Step("due", row.why)
    else:
        yield _points(owed, made, facts)
        yield from _visits(owed, made, facts)
        last = len(made.sums) - 1
        for n, words in enumerate(made.sums):
            source = (BY_RULE if row.rule_id else BY_DAYS) if n == last else ""
            yield Step("counted", f"{words[0].upper()}{words[1:]}.", source)
        yield from _window(owed)
    yield from _allowed(owed)
    yield _standing(owed, facts)


def _asked(owed: Owed, facts: _Facts) -> Step:
    row = owed.row
    rule = row.rule
    if rule is not None:
        link = format_html(
            '<a href="{}">{}</a>: {}.', reverse("rule", args=["interval", rule.pk]), rule.title, demand_words(rule)
        )  # fmt: skip
        source = f"{rule.author_name}: {rule.source}, edition {rule.edition} ({rule.get_status_display()})"
        return Step("rule", link, f"{source}; adopted {adopted_words(rule)}")
    event = facts.events.get(row.event_id or 0)
    if event is not None:
        words = (
            f"{event.get_kind_display().capitalize()} on {in_words(event.on)}: a complete inspection within "
        )
        return Step(
            "event",
            f"{words}{in_days(event.inspect_within_days)}. Reported by {event.reported_by}.",
            event.days_by or "The days were entered with the event",
        )
    stop = facts.suspensions.get(row.suspension_id or 0)
    if stop is not None:
        until = f" to {in_words(stop.ends_on)}" if stop.ends_on else ""
        words = f"Out of use from {in_words(stop.since)}{until}: a complete inspection on the return to use."
        return Step("return", words, stop.authority)
    return Step("asked by", f"{row.author}.")


def adopted_words(rule: IntervalRule) -> str:
    """From 20 Jan 2021, until further notice. Takes a rule ``with_adoption``."""
    since, until = getattr(rule, "adopted_from", None), getattr(rule, "adopted_until", None)
    if since is None:
        return "no longer"
    return f"from {in_words(since)}{f' to {in_words(until)}' if until else ', until further notice'}"


def _points(owed: Owed, made: Obligation, facts: _Facts) -> Step:
    parts = share_words(None, len(made.parts)) if made.parts != "all" else ""
    if owed.row.demand == "visual":
        return Step("concerns", f"{parts} of the structure." if parts else "Every part of the structure.")
    number = len(facts.points)
    if made.points == "all":
        return Step("concerns", f"All {number} test points." if number != 1 else "Its one test point.")
    if not made.points:
        return Step("concerns", f"{parts} of the structure, and no test point.")
    named = format_html_join(
        ", ", '<a href="{}">{}</a>',
        ((reverse("point", args=[facts.points[one]]), one) for one in made.points if one in facts.points),
    )  # fmt: skip
    told = f"{len(made.points)} of {number} test points" + (f" and {parts}" if parts else "")
    return Step("concerns", format_html("<details><summary>{}</summary>{}</details>", told, named))


def _left_words(made: Obligation) -> str:
    """What a visit did not do, so that a due day stands: "did not read these points"."""
    said = (
        "did not read these points" if made.points else "",
        "did not see these parts" if made.parts else "",
    )
    return " and ".join(filter(None, said)) or "left it out"


def _visits(owed: Owed, made: Obligation, facts: _Facts) -> Iterator[Step]:
    if owed.row.rule_id:
        kinds = SATISFIED_BY[owed.row.demand]
        last = _named(facts, made.met_on, kinds)
        words = format_html("{} met it last.", last) if last else "No visit has met it yet."
        yield Step("visits", words, f"What counts: visits of the kinds {_kinds(kinds)}, up to today")
    else:
        kinds = EVENT_MET_BY if owed.row.event_id else SATISFIED_BY["complete"]
        since = "since it happened" if owed.row.event_id else "since the return"
        yield Step("visits", f"None has met it {since}.", f"What counts: visits of the kinds {_kinds(kinds)}")
    if made.left_on is not None:
        left = _named(facts, [made.left_on], kinds)
        yield Step("left out", format_html("{}, {}, so they keep their due day.", left, _left_words(made)))


def _named(facts: _Facts, days: Iterable[date], kinds: Iterable[str]) -> SafeString:
    rows = (
        (reverse("visit", args=[visit.pk]), visit.number, visit.get_kind_display(), in_words(day))
        for day in days
        for visit in facts.visits.get(day, [])
        if visit.kind in kinds
    )
    return format_html_join("; ", '<a href="{}">Visit {}</a>, {}, {}', rows)


def _kinds(kinds: Iterable[str]) -> str:
    *others, last = sorted(kind.replace("-", " ") for kind in kinds)
    return f"{', '.join(others)} and {last}"


def _window(owed: Owed) -> Iterator[Step]:
    rule = owed.row.rule
    if rule is None:
        return
    first = opens(
        owed.row.due, basis=rule.basis, early_days=rule.early_days, period=rule.period or None,
        seasons=season_months(rule.seasons),
    )  # fmt: skip
    if first < owed.row.due:
        early = f": {rule.early_days} days before the due day" if rule.early_days else ""
        yield Step("early window", f"A visit counts for this due day from {in_words(first)} on{early}.")


def _allowed(owed: Owed) -> Iterator[Step]:
    given = owed.row.dispensation
    if given is not None:
        words = f"Its own author allows until {in_words(owed.row.grace_until)}; the due day stays."
        yield Step("allowed", words, given.document)
    if owed.row.governs and owed.runs:
        yield Step("governs", "It is the earliest due day that runs at this structure, so it governs.")


def _standing(owed: Owed, facts: _Facts) -> Step:
    """How it stands today, as a sum of days."""
    row, today = owed.row, in_words(facts.today)
    standing = standing_of(row, facts.today)
    if standing.state == "overdue":
        first = in_words(row.grace_until + timedelta(days=1))
        words = (
            f"{today} − {in_words(row.grace_until)} = {with_unit(standing.days_overdue, 'days')}: overdue, the first "
            f"overdue day was {first}."
        )
    elif standing.state in ("due soon", "not yet due"):
        words = f"{in_words(row.due)} − {today} = {in_days((row.due - facts.today).days)}: {owed.words}."
    elif standing.state == "no longer applies" and row.applies_until:
        words = f"The rule’s last day was {in_words(row.applies_until)}: it asks no longer."
    elif standing.state == "suspended":
        return _suspended(facts, owed)
    else:
        words = f"On {today}: {owed.words}."
    return Step("today", words, f"Days at {facts.structure.site.time_zone}. {STANDS_BY}")


def _suspended(facts: _Facts, owed: Owed) -> Step:
    """By which suspension the count stands still: of several the one that began first."""
    stops = [
        stop for stop in facts.suspensions.values()
        if stop.since <= facts.today and (stop.ends_on is None or stop.ends_on >= facts.today)
    ]  # fmt: skip
    if not stops:
        return Step("today", f"On {in_words(facts.today)}: {owed.words}.")
    first = min(stops, key=lambda stop: stop.since)
    until = f"until {in_words(first.ends_on)}" if first.ends_on else "until further notice"
    return Step(
        "today",
        f"Out of use from {in_words(first.since)}, {until}: while that lasts no day is counted as overdue.",
        first.authority,
    )
