"""Strikes and other events: inspected within so many days, counted from the event, not from its report."""

import pytest

from inspections.rules.due_dates.events import within

from .due_date_facts import ask, day, event, only, rule, visit


def test_a_strike_forty_days_ago_with_seven_allowed_is_born_overdue():
    struck = event("2027-04-01", 7, recorded="2027-05-11T09:00:00+00:00")
    row = only(events=[struck], on="2027-05-11", known_by="2027-05-11")
    assert (row.rule, row.demand, row.points) == ("e", "complete", "all")
    assert (row.due, row.grace_until) == (day("2027-04-08"), day("2027-04-08"))
    assert (row.state, row.overdue_since, row.days_overdue) == ("overdue", day("2027-04-09"), 33)
    assert row.why == (
        "Complete inspection after the strike of 1 Apr 2027: within 7 days. "
        "It was reported on 11 May 2027, when that day had passed."
    )


def test_a_late_report_was_not_known_before_it_came():
    struck = event("2027-04-01", 7, recorded="2027-05-11T09:00:00+00:00")
    assert ask(events=[struck], on="2027-05-10", known_by="2027-05-10").obligations == ()
    assert only(events=[struck], on="2027-05-10").days_overdue == 32
    assert only(events=[struck], on="2027-05-10", known_by="2027-05-11").days_overdue == 32


@pytest.mark.parametrize(
    ("kind", "on", "met"),
    [
        ("complete", "2027-01-05", True),
        ("after-event", "2027-01-05", True),
        ("complete", "2027-01-04", False),
        ("visual", "2027-01-06", False),
        ("electrical", "2027-01-06", False),
        ("first", "2027-01-06", False),
        ("re-test", "2027-01-06", False),
        ("attended-no-access", "2027-01-06", False),
    ],
)
def test_an_event_is_met_by_a_complete_or_after_event_visit_on_or_after_its_day(kind, on, met):
    found = ask(events=[event("2027-01-05", 7)], visits=[visit(on, kind)], on="2027-02-01")
    assert (found.obligations == ()) is met


def test_an_after_event_visit_resets_no_rule():
    visits = [visit("2026-03-31"), visit("2027-01-06", "after-event")]
    row = only(rule(months=12), events=[event("2027-01-05", 7)], visits=visits, on="2027-02-01")
    assert (row.rule, row.due) == ("r", day("2027-03-31"))


def test_an_event_has_not_happened_before_its_day():
    struck = event("2027-01-05", 7)
    assert ask(events=[struck], on="2027-01-04").next is None
    assert only(events=[struck], on="2027-01-05").state == "due soon"


@pytest.mark.parametrize(("on", "state"), [("2027-01-05", "due"), ("2027-01-06", "overdue")])
def test_an_event_with_no_days_allowed_is_due_on_its_own_day(on, state):
    assert only(events=[event("2027-01-05", 0, kind="flood")], on=on).state == state


def test_two_events_stand_side_by_side_and_one_visit_meets_both():
    both = [event("2027-01-05", 30, name="e1"), event("2027-01-10", 7, kind="repair", name="e2")]
    found = ask(events=both, on="2027-01-11")
    assert [row.rule for row in found.obligations] == ["e2", "e1"]
    assert found.next == found.obligations[0]
    assert ask(events=both, visits=[visit("2027-01-12")], on="2027-01-12").obligations == ()
    between = ask(events=both, visits=[visit("2027-01-08")], on="2027-01-12").obligations
    assert [row.rule for row in between] == ["e2"]


def test_the_worked_example_of_three_authors_in_honolulu():
    found = ask(
        rule(id="insurer", months=12),
        rule("anniversary", id="standard", demand="visual", months=12, anchor="2024-02-29"),
        visits=[visit("2026-03-31T23:30:00-10:00", recorded="2026-04-02T08:00:00-10:00")],
        events=[event("2027-01-05", 7, recorded="2027-02-14T10:00:00-10:00", name="e1")],
        zone="Pacific/Honolulu",
        on="2027-05-10",
    )
    assert [
        (
            row.rule,
            row.demand,
            row.points,
            row.due,
            row.grace_until,
            row.state,
            row.overdue_since,
            row.days_overdue,
        )
        for row in found.obligations
    ] == [
        ("e1", "complete", "all", *[day("2027-01-12")] * 2, "overdue", day("2027-01-13"), 118),
        ("standard", "visual", "all", *[day("2027-02-28")] * 2, "overdue", day("2027-03-01"), 71),
        ("insurer", "complete", "all", *[day("2027-03-31")] * 2, "overdue", day("2027-04-01"), 40),
    ]
    assert found.next is found.obligations[0]


@pytest.mark.parametrize(
    ("days", "words"), [(0, "on the day itself"), (1, "within 1 day"), (7, "within 7 days")]
)
def test_how_soon_is_said_in_words(days: int, words: str) -> None:
    assert within(days) == words
