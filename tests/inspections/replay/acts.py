"""Random sequences of a record's own acts on one small structure, a step of time apart, each at its own instant."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any
from unittest import mock
from zoneinfo import ZoneInfo

from django.db import transaction
from hypothesis import strategies as st

from inspections.actions import dispensations, due, findings, looking, owning, readings, rules, visits
from inspections.actions import register as derived
from inspections.actions.entries import NewNoReading
from inspections.models import (
    Adoption,
    Dispensation,
    DueDate,
    IntervalRule,
    Look,
    NotSeen,
    PartLook,
    Reason,
    Suspension,
    Visit,
    VisitState,
)
from sites.actions import register
from sites.models import Part, Structure, VisitKind
from tests import factories as f
from tests import story as told

COLUMNS = (
    "rule_id", "event_id", "suspension_id", "demand", "points", "parts", "due", "grace_until", "applies_until",
    "suspended", "overdue_since", "governs", "why",
)  # fmt: skip
# At noon in London it is the same day in Honolulu and the next one east of the date line, never the day before.
BEGAN = datetime(2027, 2, 1, 12, 0, tzinfo=UTC)


@dataclass
class Play:
    """A story under way. now: the instant of the next act"""

    story: told.Story
    now: datetime = BEGAN
    done: list[str] = field(default_factory=list)

    @property
    def structure(self) -> Structure:
        return Structure.objects.select_related("site__client__firm").get(pk=self.story.structure.pk)


def begin() -> Play:
    """With three parts: one that the points are on, and two more."""
    story = told.begin()
    system = story.structure.systems.get()
    f.PartFactory(system=system, name="Roof tape", kind="air-termination")
    f.PartFactory(system=system, name="Rod, north", kind="earth electrode")
    return Play(story)


def _visit(play: Play, kind: str, read: int, late: int, unseen: int) -> None:
    """A visit some days ago whose sheet is entered now; ``read`` of the points, the others not accessible.

    unseen: how many of the parts were not seen, the last ones; below zero: parts were not recorded one by one yet
    """
    story = play.story
    begun = play.now - timedelta(days=late, hours=3)
    visit = visits.plan(
        play.structure, kind=kind, purpose="periodic", planned_on=begun.date(), inspectors=[story.inspector],
        by=story.planner, at=play.now,
    )  # fmt: skip
    visits.start(visit, arrived_at=begun, by=story.inspector, at=play.now)
    visits.note_conditions(visit, visits.Conditions(), by=story.inspector, at=play.now)
    if kind != VisitKind.VISUAL:
        points = list(play.structure.points.standing_on(begun.date()))
        file = f.ImportedFileFactory(firm=story.firm)
        file_or_none = file if read % 2 else None
        readings.record(
            visit,
            [told.entry(story, point, "5.00", begun) for point in points[:read]],
            [NewNoReading(point, Reason.NOT_ACCESSIBLE, begun, "no scaffold") for point in points[read:]],
            by=story.inspector, at=play.now, file=file_or_none,
        )  # fmt: skip
    if unseen < 0:
        with mock.patch.object(visits.looking, "parts_unanswered", lambda *_: Part.objects.none()):
            visits.complete_field_work(
                visit, left_at=begun + timedelta(hours=2), by=story.inspector, at=play.now
            )
        return
    names = [part.name for part in play.structure.parts.order_by("pk")]
    told.see_parts(visit, story.inspector, play.now, left=tuple(names[len(names) - unseen :]))
    visits.complete_field_work(visit, left_at=begun + timedelta(hours=2), by=story.inspector, at=play.now)


def _complete(play: Play, n: int) -> None:
    _visit(play, VisitKind.COMPLETE, read=n % 4, late=n % 50, unseen=n % 5 - 2)


def _visual(play: Play, n: int) -> None:
    _visit(play, VisitKind.VISUAL, read=0, late=n % 20, unseen=n % 4 - 1)


def _correct_part(play: Play, n: int) -> None:
    """What was said of a part is corrected: the other way round."""
    open_ = Visit.objects.filter(state=VisitState.FIELD_COMPLETE).values("pk")
    look = PartLook.objects.standing().filter(visit__in=open_).order_by("pk").last()
    if look is None:
        return
    seen = look.outcome == Look.NOT_SEEN
    entry = looking.NewLook(
        look.part, Look.SEEN if seen else Look.NOT_SEEN, look.at, None if seen else NotSeen.COVERED
    )
    looking.correct(look, entry, reason="mistaken", by=play.story.inspector, at=play.now)


def _part(play: Play, n: int) -> None:
    """A part comes on record that has stood there since some days ago."""
    since = (play.now - timedelta(days=n % 60)).date()
    system = play.structure.systems.order_by("pk")[0]
    derived.create_part(
        system, kind="down-conductor", name=f"Added {len(play.done)}", since=since, by=play.story.planner,
        at=play.now,
    )  # fmt: skip


def _send_back(play: Play, n: int) -> None:
    visit = Visit.objects.filter(state=VisitState.FIELD_COMPLETE).order_by("-pk").first()
    if visit is None:
        return
    visit = visits.hand_in(visit, by=play.story.inspector, at=play.now)
    visit = visits.send_back(visit, words="look again", by=play.story.reviewer, at=play.now)
    if n % 2:
        left = visit.on_site_until
        assert left is not None
        told.see_parts(visit, play.story.inspector, play.now)
        visits.complete_field_work(visit, left_at=left, by=play.story.inspector, at=play.now)


def _event(play: Play, n: int) -> None:
    owning.report(
        play.structure, kind="strike", on=(play.now - timedelta(days=n % 40)).date(), reported_by="the sexton",
        words="struck", by=play.story.planner, at=play.now,
    )  # fmt: skip


def _event_withdrawn(play: Play, n: int) -> None:
    """Of the events that stand, one."""
    events = list(play.structure.events.filter(withdrawal__isnull=True).order_by("pk"))
    if events:
        owning.withdraw_event(events[n % len(events)], words="no strike", by=play.story.planner, at=play.now)


def _suspend(play: Play, n: int) -> None:
    since = (play.now - timedelta(days=n % 10)).date()
    until = since + timedelta(days=n % 60) if n % 3 == 0 else None
    try:
        with transaction.atomic():
            findings.suspend(
                play.structure,
                since=since,
                until=until,
                authority="the owner",
                by=play.story.planner,
                at=play.now,
            )
    except findings.FindingRefused:
        return  # out of use on some of those days already


def _return(play: Play, n: int) -> None:
    suspension = Suspension.objects.with_end().filter(ends_on=None).first()
    if suspension is None:
        return
    last = max(suspension.since, (play.now - timedelta(days=n % 5)).date())
    owning.return_to_use(suspension, last_day=last, authority="the owner", by=play.story.planner, at=play.now)


def _adopt(play: Play, n: int) -> None:
    since = (play.now - timedelta(days=n % 100)).date()
    rule = f.IntervalRuleFactory(
        firm=play.story.firm,
        demand=("visual", "complete", "electrical")[n % 3],
        months=6 + n % 12,
        classes="I" if n % 2 else "",
        recorded_at=play.now,
    )
    rules.adopt(rule, adopted_from=since, by=play.story.planner, at=play.now)


def _end_rule(play: Play, n: int) -> None:
    held = Adoption.objects.filter(interval__firm=play.story.firm).order_by("-pk").first()
    assert held is not None and held.interval is not None
    last = max(held.adopted_from, play.now.date() - timedelta(days=n % 3))
    f.AdoptionFactory(
        interval=held.interval, adopted_from=held.adopted_from, adopted_until=last, recorded_at=play.now
    )
    due.refresh([play.structure.pk], at=play.now)


def _describe(play: Play, n: int) -> None:
    if play.structure.details.latest("since").since > play.now.date():
        return
    new = "I" if n % 2 else "III"
    play.structure.refresh_from_db()
    if play.structure.protection_class == new:
        return  # the register refuses a change in which nothing differs
    register.describe_structure(
        play.structure, since=play.now.date(), protection_class=new, by=play.story.planner,
        at=play.now,
    )  # fmt: skip
    due.refresh([play.structure.pk], at=play.now)


def _renumber(play: Play, n: int) -> None:
    point = play.structure.points.standing_on(play.now.date()).first()
    if point is not None:
        register.renumber_point(
            point, number=f"R{len(play.done)}", since=play.now.date(), by=play.story.planner, at=play.now
        )
        due.refresh([play.structure.pk], at=play.now)


def _retire(play: Play, n: int) -> None:
    point = play.structure.points.filter(retired_on__isnull=True).last()
    if point is not None:
        register.retire_point(
            point,
            on=play.now.date(),
            reason="taken down",
            by=play.story.planner,
            at=play.now,
        )
        due.refresh([play.structure.pk], at=play.now)


ZONES = ("Pacific/Honolulu", "Pacific/Auckland", "Europe/London", "Pacific/Kiritimati")


def _time_zone(play: Play, n: int) -> None:
    """The site is described with another zone, since some days ago; the visits' readings may refuse it."""
    site = play.structure.site
    zone = ZONES[n % len(ZONES)]
    since = (play.now - timedelta(days=1 + n % 20)).date()
    if zone == site.time_zone or since < max(site.details.values_list("since", flat=True), default=since):
        return
    try:
        with transaction.atomic():
            derived.change_site(site, since=since, time_zone=zone, by=play.story.planner, at=play.now)
    except register.RegisterRefused:
        return


def _dispense(play: Play, n: int) -> None:
    """One of the rules' authors gives more time, some days ago: here, at the site or wherever the rule stands."""
    rules_there = IntervalRule.objects.with_adoption().filter(
        firm=play.story.firm, adopted_from__isnull=False
    )
    given_on = (play.now - timedelta(days=n % 30)).date()
    where = ({}, {"site": play.structure.site}, {"structure": play.structure})[n % 3]
    dispensations.dispense(
        rules_there.order_by("pk")[n % len(rules_there)], until=given_on + timedelta(days=n * 7 % 900),
        document=f"letter {len(play.done)}", given_by="the underwriter", given_on=given_on,
        by=play.story.signatory, at=play.now, **where,
    )  # fmt: skip


def _withdraw(play: Play, n: int) -> None:
    row = Dispensation.objects.standing().order_by("pk").last()
    if row is not None:
        dispensations.withdraw(row, words="given in error", by=play.story.signatory, at=play.now)


ACTS: dict[str, Callable[[Play, int], None]] = {
    "complete": _complete, "visual": _visual, "correct part": _correct_part, "part": _part,
    "send back": _send_back, "event": _event, "event withdrawn": _event_withdrawn, "suspend": _suspend,
    "return": _return, "adopt": _adopt, "end rule": _end_rule, "describe": _describe, "renumber": _renumber,
    "retire": _retire, "time zone": _time_zone, "dispense": _dispense, "withdraw": _withdraw,
}  # fmt: skip

SEQUENCES = st.lists(
    st.tuples(st.sampled_from(sorted(ACTS)), st.integers(0, 200), st.integers(1, 90)), min_size=1, max_size=7
)


def act(play: Play, step: tuple[str, int, int]) -> None:
    """One act, and then so many days pass."""
    name, number, days = step
    ACTS[name](play, number)
    play.done.append(name)
    play.now += timedelta(days=days)


def stored(play: Play) -> list[tuple[Any, ...]]:
    """The stored due dates of the structure, after they were brought to the day."""
    due.refresh([play.structure.pk], at=play.now)
    rows = DueDate.objects.filter(structure=play.structure).order_by("pk")
    return [
        (*(getattr(row, name) for name in COLUMNS), row.dispensation and row.dispensation.until)
        for row in rows
    ]


def today(play: Play) -> date:
    return play.now.astimezone(ZoneInfo(play.structure.site.time_zone)).date()
