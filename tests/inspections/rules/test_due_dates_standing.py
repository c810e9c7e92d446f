"""The state of a stored due day on any day: the words and their boundaries."""

from datetime import timedelta

import pytest

from inspections.rules.due_dates import Standing, state_on

from .due_date_facts import day, due, only, rule, visit

DUE = day("2027-03-31")
GRACE = day("2027-04-14")


@pytest.mark.parametrize(
    ("days_from_due", "expected"),
    [
        (-61, Standing("not yet due")),
        (-60, Standing("due soon")),
        (-1, Standing("due soon")),
        (0, Standing("due")),
        (1, Standing("in grace")),
        (14, Standing("in grace")),
        (15, Standing("overdue", day("2027-04-15"), 1)),
        (16, Standing("overdue", day("2027-04-15"), 2)),
        (365, Standing("overdue", day("2027-04-15"), 351)),
    ],
)
def test_each_state_begins_on_its_day(days_from_due, expected):
    on = DUE + timedelta(days=days_from_due)
    assert state_on(on, due=DUE, grace_until=GRACE) == expected


def test_without_grace_the_day_after_the_due_day_is_the_first_overdue_day():
    assert state_on(day("2027-04-01"), due=DUE, grace_until=DUE) == Standing("overdue", day("2027-04-01"), 1)


def test_a_rule_that_ended_no_longer_applies_even_while_suspended():
    ended = state_on(
        day("2027-06-01"),
        due=DUE,
        grace_until=DUE,
        suspended_since=day("2027-05-01"),
        adopted_until=day("2027-05-31"),
    )
    assert ended == Standing("no longer applies")


def test_the_last_day_of_the_calendar_is_a_day_like_any_other():
    last = day("9999-12-31")
    assert state_on(last, due=last, grace_until=last) == Standing("due")
    assert state_on(last, due=last, grace_until=last, suspended_since=last) == Standing("suspended")


def test_grace_moves_the_consequence_and_nothing_else():
    for grace in (0, 14):
        row = only(rule(months=12, grace_days=grace), visits=[visit("2026-03-31")], on="2027-04-10")
        assert row.due == DUE
        assert row.grace_until == DUE + timedelta(days=grace)
    late_in_grace = [visit("2026-03-31"), visit("2027-04-10")]
    assert due(rule(months=12, grace_days=14), visits=late_in_grace, on="2027-05-01") == "2028-03-31"


def test_the_engine_and_the_stored_row_give_the_same_state():
    for on in ("2027-01-01", "2027-02-01", "2027-03-31", "2027-04-10", "2027-05-01"):
        row = only(rule(months=12, grace_days=14), visits=[visit("2026-03-31")], on=on)
        stored = state_on(day(on), due=row.due, grace_until=row.grace_until)
        assert stored == Standing(row.state, row.overdue_since, row.days_overdue)
