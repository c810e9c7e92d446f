"""Structures out of use: what stops, what stays, and what is asked on the return."""

import pytest

from inspections.rules.due_dates import suspended_since

from .due_date_facts import ask, day, event, only, rule, suspension, visit

DONE = [visit("2026-03-31")]  # so a rolling rule of 12 months is due on 31 Mar 2027


def test_a_suspension_entered_after_the_due_date_does_not_cure_the_days_before_it():
    entered = suspension("2027-01-01", "2027-12-31", recorded="2027-05-01T09:00:00+00:00")
    row = only(rule(months=12), visits=DONE, suspensions=[entered], on="2027-06-15")
    assert (row.state, row.overdue_since, row.days_overdue) == ("suspended", day("2027-04-01"), 30)


def test_the_count_of_overdue_days_stops_while_suspended():
    entered = suspension("2027-05-01")
    counts = [
        only(rule(months=12), visits=DONE, suspensions=[entered], on=on).days_overdue
        for on in ("2027-04-29", "2027-04-30", "2027-05-01", "2027-05-02", "2030-01-01")
    ]
    assert counts == [29, 30, 30, 30, 30]


def test_before_it_was_recorded_a_suspension_stopped_nothing():
    entered = suspension("2027-01-01", "2027-12-31", recorded="2027-05-01T09:00:00+00:00")
    assert only(rule(months=12), visits=DONE, suspensions=[entered], on="2027-04-30").state == "overdue"
    assert only(rule(months=12), visits=DONE, suspensions=[entered], on="2027-05-01").state == "suspended"


@pytest.mark.parametrize("on", ["2027-01-01", "2027-03-31", "2027-06-30"])
def test_a_suspension_in_time_shows_nothing_overdue_on_both_its_end_days(on):
    out = suspension("2027-01-01", "2027-06-30")
    found = ask(rule(months=12), visits=DONE, suspensions=[out], on=on)
    (row,) = found.obligations
    assert (row.state, row.overdue_since, row.days_overdue) == ("suspended", None, None)
    assert row.due == day("2027-03-31")
    assert row.why.endswith("Suspended since 1 Jan 2027.")
    assert found.next is None


def test_a_suspension_that_works_from_the_first_overdue_day_leaves_no_overdue_day():
    row = only(rule(months=12), visits=DONE, suspensions=[suspension("2027-04-01")], on="2027-05-01")
    assert (row.state, row.overdue_since) == ("suspended", None)


def test_afterwards_an_inspection_on_return_is_due_the_day_after():
    out = suspension("2027-01-01", "2027-02-28")
    found = ask(rule(months=12), visits=DONE, suspensions=[out], on="2027-03-01")
    assert [(row.rule, row.demand, row.due, row.state) for row in found.obligations] == [
        ("s", "complete", day("2027-03-01"), "due"),
        ("r", "complete", day("2027-03-31"), "due soon"),
    ]
    assert found.next is found.obligations[0]
    assert found.next.why == (
        "Complete inspection on the return to use: the suspension ended on 28 Feb 2027."
    )


@pytest.mark.parametrize(
    ("kind", "on", "met"),
    [
        ("complete", "2027-03-01", True),
        ("first", "2027-03-05", True),
        ("visual", "2027-03-05", False),
        ("complete", "2027-02-28", False),
    ],
)
def test_the_inspection_on_return_is_met_by_a_complete_visit_after_the_suspension(kind, on, met):
    found = ask(
        suspensions=[suspension("2027-01-01", "2027-02-28")], visits=[visit(on, kind)], on="2027-04-01"
    )
    assert (found.obligations == ()) is met


def test_no_inspection_on_return_where_the_authority_wants_none_or_the_end_is_open():
    waived = suspension("2027-01-01", "2027-02-28", return_inspection=False)
    assert ask(suspensions=[waived], on="2027-04-01").obligations == ()
    assert ask(suspensions=[suspension("2027-01-01")], on="2027-04-01").obligations == ()


def test_a_day_that_fell_due_while_suspended_is_overdue_afterwards():
    out = suspension("2027-01-01", "2027-06-30", return_inspection=False)
    row = only(rule(months=12), visits=DONE, suspensions=[out], on="2027-07-10")
    assert (row.state, row.overdue_since, row.days_overdue) == ("overdue", day("2027-04-01"), 101)


def test_an_event_is_suspended_like_every_other_obligation():
    row = only(events=[event("2027-01-05", 7)], suspensions=[suspension("2027-02-01")], on="2027-03-01")
    assert (row.rule, row.state, row.days_overdue) == ("e", "suspended", 19)


def test_one_recorded_after_its_own_end_never_works_but_still_asks_for_the_return():
    late = suspension("2027-01-01", "2027-02-28", recorded="2027-05-01T09:00:00+00:00")
    assert only(rule(months=12), visits=DONE, suspensions=[late], on="2027-02-15").state == "due soon"
    assert "s" in {row.rule for row in ask(suspensions=[late], on="2027-05-02").obligations}


@pytest.mark.parametrize(
    ("windows", "expected"),
    [
        ([("2027-01-01", "2027-03-31"), ("2027-04-01", "2027-06-30")], "2027-01-01"),
        ([("2027-01-01", "2027-03-30"), ("2027-04-01", "2027-06-30")], "2027-04-01"),
        ([("2027-01-01", None), ("2027-04-01", "2027-04-02")], "2027-01-01"),
        ([("2027-02-01", "2027-03-01"), ("2027-01-01", "2027-04-30"), ("2027-04-20", None)], "2027-01-01"),
        ([("2027-01-01", "2027-04-30")], None),
        ([("2027-05-02", None)], None),
        ([("0001-01-01", None)], "0001-01-01"),
    ],
)
def test_adjoining_suspensions_make_one_stretch(windows, expected):
    days = [(day(start), day(end) if end else None) for start, end in windows]
    for order in (days, days[::-1]):
        assert suspended_since(day("2027-05-01"), order) == (day(expected) if expected else None)
