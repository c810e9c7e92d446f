"""Something changed, out of use and back, wish dates, and the days allowed after an event as data."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from inspections import allowances
from inspections.actions import findings, owning
from inspections.actions.findings import FindingRefused
from inspections.models import DueDate, Event, EventKind, SuspensionEnd, Wish
from inspections.point_trend import splits_of
from inspections.replay.status import status_on
from sites import log
from tests import factories as f
from tests import story as told
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)
WHO = {"reported_by": "the caretaker", "words": "tower struck; counter advanced by one"}


@pytest.fixture
def story() -> told.Story:
    return told.begin()


def adopted(firm, days: int, **more) -> None:
    f.AllowanceAdoptionFactory(allowance=f.EventAllowanceFactory(firm=firm, within_days=days, **more))


def strike(story: told.Story, on: date = date(2027, 5, 9)) -> Event:
    return owning.report(story.structure, kind="strike", on=on, by=story.planner, at=NOW, **WHO)


def test_without_a_number_of_its_own_the_firm_gets_the_starters_with_its_source(story) -> None:
    event = strike(story)
    assert event.inspect_within_days == allowances.starter()["strike"].days == 7
    assert event.days_by == "Starter rules: common practice of the trade (no published source)"
    assert set(allowances.starter()) == set(EventKind.values)


def test_the_same_reported_twice_is_kept_once(story) -> None:
    first = strike(story)
    with nothing_saved(), pytest.raises(FindingRefused, match="on record already"):
        strike(story)
    told_otherwise = WHO | {"words": "a second stroke, at dusk"}
    second = owning.report(
        story.structure, kind="strike", on=first.on, by=story.planner, at=NOW, **told_otherwise
    )
    assert second.pk != first.pk


def test_an_event_reported_in_error_is_withdrawn_and_asks_for_nothing(story) -> None:
    event = strike(story)
    assert DueDate.objects.filter(event=event).exists()
    later = NOW + timedelta(days=2)
    row = owning.withdraw_event(event, words=" thunder only ", by=story.planner, at=later)
    assert (row.words, row.by, row.recorded_at) == ("thunder only", story.planner, later)
    assert not DueDate.objects.filter(event=event).exists()
    entry = log.about(event.identity).order_by("-number").first()
    assert entry is not None and entry.action == "event withdrawn" and "thunder only" in entry.payload
    # As the record knew it that day it was owed; as it was, it never happened.
    for known_by, owed in ((NOW.date(), True), (None, False)):
        (status,) = status_on([story.structure.pk], NOW.date(), known_by=known_by)
        assert any(one.event for one in status.rows) == owed
    with nothing_saved(), pytest.raises(FindingRefused, match="withdrawn already"):
        owning.withdraw_event(event, words="again", by=story.planner, at=later)


def test_a_withdrawal_says_why(story) -> None:
    event = strike(story)
    with nothing_saved(), pytest.raises(FindingRefused, match="Say why"):
        owning.withdraw_event(event, words="  ", by=story.planner, at=NOW)


def test_what_was_withdrawn_may_be_reported_again(story) -> None:
    owning.withdraw_event(strike(story), words="another building", by=story.planner, at=NOW)
    assert DueDate.objects.filter(event=strike(story)).exists()


def test_a_repair_that_was_none_parts_no_trend(story) -> None:
    point = story.structure.points.first()
    told_of = {"kind": EventKind.REPAIR, "on": date(2027, 5, 9), "by": story.planner, "at": NOW}
    repair = owning.report(story.structure, **told_of, **WHO)
    assert [split.why for split in splits_of(point, ZoneInfo("Europe/London"))] == ["repair"]
    owning.withdraw_event(repair, words="another building", by=story.planner, at=NOW)
    assert splits_of(point, ZoneInfo("Europe/London")) == []


def test_the_least_of_the_adopted_numbers_governs_and_is_named(story) -> None:
    adopted(story.firm, 10)
    adopted(story.firm, 3, author_name="The Licensing Office", source="licence, condition 4")
    adopted(story.firm, 1, kind="flood")
    adopted(f.FirmFactory(), 2)
    event = strike(story)
    assert (event.inspect_within_days, event.by) == (3, story.planner)
    assert event.days_by == "The Licensing Office: licence, condition 4, 2027 (stated by its author)"
    assert DueDate.objects.get(event=event).due == date(2027, 5, 12)


def test_a_number_holds_from_the_day_it_is_adopted_and_only_where_it_stands(story) -> None:
    elsewhere = f.StructureFactory(site=story.structure.site)
    adopted(story.firm, 2, structure=elsewhere)
    row = owning.adopt_allowance(
        story.firm, kind="strike", within_days=5, author="insurer", author_name="An Invented Insurer",
        source="policy", edition="2027", status="stated by its author", adopted_from=date(2027, 5, 9),
        by=story.planner, at=NOW,
    )  # fmt: skip
    assert strike(story, date(2027, 5, 8)).inspect_within_days == 7
    assert strike(story, date(2027, 5, 9)).inspect_within_days == 5
    assert log.LogEntry.objects.filter(action="days after an event adopted").count() == 1
    with pytest.raises(FindingRefused, match="on record already"):
        owning.adopt_allowance(
            story.firm, kind="strike", within_days=6, author="insurer", author_name="An Invented Insurer",
            source="policy", edition=row.edition, status="stated by its author", adopted_from=date(2027, 5, 9),
            by=story.planner, at=NOW,
        )  # fmt: skip


def test_a_late_report_is_born_overdue(story) -> None:
    event = strike(story, date(2027, 4, 1))
    row = DueDate.objects.get(event=event)
    assert row.due == date(2027, 4, 8)
    assert "It was reported on 10 May 2027, when that day had passed." in row.why


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"on": date(2027, 5, 11)}, "future"),
        ({"words": " "}, "Say what"),
        ({"reported_by": ""}, "who reports"),
    ],
)
def test_a_report_says_what_when_and_who(story, changed, sentence) -> None:
    told_ = {"kind": "strike", "on": date(2027, 5, 9), **WHO, **changed}
    with pytest.raises(FindingRefused, match=sentence):
        owning.report(story.structure, by=story.planner, at=NOW, **told_)
    assert not Event.objects.exists()


def test_the_day_of_an_event_is_the_sites_own(story) -> None:
    story.structure.site.time_zone = "Pacific/Auckland"
    story.structure.site.save()
    at = datetime(2027, 5, 10, 12, 30, tzinfo=UTC)  # 11 May, 00:30 there
    event = owning.report(story.structure, kind="fire", on=date(2027, 5, 11), by=story.planner, at=at, **WHO)
    assert event.on == date(2027, 5, 11)


def test_a_return_ends_an_open_suspension_and_asks_for_an_inspection(story) -> None:
    suspension = findings.suspend(
        story.structure, since=date(2027, 4, 1), until=None, authority="the owner", by=story.planner,
        at=NOW - timedelta(days=30),
    )  # fmt: skip
    assert DueDate.objects.filter(structure=story.structure, suspended=True).exists()
    owning.return_to_use(
        suspension, last_day=date(2027, 5, 7), authority="the owner's letter", by=story.planner, at=NOW
    )
    rows = DueDate.objects.filter(structure=story.structure)
    assert not rows.filter(suspended=True).exists()
    assert rows.get(suspension=suspension).due == date(2027, 5, 8)


def test_a_return_needs_an_authority_and_a_day_after_the_beginning(story) -> None:
    suspension = f.SuspensionFactory(structure=story.structure, since=date(2027, 4, 1))
    for day, authority in ((date(2027, 3, 31), "the owner"), (date(2027, 5, 1), "  ")):
        with pytest.raises(FindingRefused):
            owning.return_to_use(suspension, last_day=day, authority=authority, by=story.planner, at=NOW)
    assert not SuspensionEnd.objects.exists()


def test_the_end_stated_last_holds(story) -> None:
    suspension = f.SuspensionFactory(structure=story.structure, since=date(2027, 4, 1))
    for day in (date(2027, 5, 7), date(2027, 5, 20)):
        owning.return_to_use(suspension, last_day=day, authority="the owner", by=story.planner, at=NOW)
    assert type(suspension).objects.with_end().get(pk=suspension.pk).ends_on == date(2027, 5, 20)


def test_a_wish_moves_no_due_date(story) -> None:
    strike(story)
    before = list(DueDate.objects.values_list("due", "why"))
    wished = owning.wish(
        story.structure, from_day=date(2027, 5, 24), until_day=date(2027, 5, 28), words="theatres closed",
        by=story.planner, at=NOW,
    )  # fmt: skip
    assert list(DueDate.objects.values_list("due", "why")) == before
    assert log.about(wished.identity).get().action == "dates wished for"
    with nothing_saved(), pytest.raises(FindingRefused, match="wished for already"):
        owning.wish(
            story.structure, from_day=wished.from_day, until_day=wished.until_day, words=" theatres closed ",
            by=story.planner, at=NOW,
        )  # fmt: skip


@pytest.mark.parametrize(("first", "last"), [((2027, 5, 28), (2027, 5, 24)), ((2027, 5, 1), (2027, 5, 9))])
def test_a_wish_is_for_days_to_come(story, first, last) -> None:
    with pytest.raises(FindingRefused):
        owning.wish(
            story.structure, from_day=date(*first), until_day=date(*last), words="", by=story.planner, at=NOW
        )
    assert not Wish.objects.exists()
