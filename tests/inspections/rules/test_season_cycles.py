"""Which months a cycle meets and how long it takes, against the table the trade uses."""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from inspections.rules.season_cycles import (
    CYCLES_SHOWN,
    in_words,
    months_met,
    months_to_meet_them_all,
    reach,
    strictest,
)

# Cycle in months: calendar months ever met, months to meet them all. Worked out by the trade; arithmetic, no document.
TABLE = {
    7: (12, 77), 10: (6, 50), 11: (12, 121), 12: (1, 0), 13: (12, 143), 14: (6, 70), 15: (4, 45),
    18: (2, 18), 24: (1, 0),
}  # fmt: skip


@pytest.mark.parametrize("cycle", sorted(TABLE))
def test_each_row_of_the_table_is_reckoned(cycle):
    assert (months_met(cycle), months_to_meet_them_all(cycle)) == TABLE[cycle]


@pytest.mark.parametrize("cycle", sorted({*TABLE, 1, 3, 5, 9, 60}))
def test_walking_through_the_calendar_meets_the_same_months_in_the_same_time(cycle):
    start = date(2026, 6, 15)
    first_met = {}
    for turn in range(40):
        day = start + relativedelta(months=turn * cycle)
        first_met.setdefault(day.month, turn * cycle)
    assert len(first_met) == months_met(cycle)
    assert max(first_met.values()) == months_to_meet_them_all(cycle)
    assert set(reach(cycle, (2026, 6)).months) == set(first_met)


def test_an_eleven_month_cycle_goes_backwards_through_the_year():
    found = reach(11, (2026, 6))
    assert found.months == (6, 5, 4, 3, 2, 1, 12, 11, 10, 9, 8, 7)
    assert (found.complete_in, in_words(found.complete_by)) == (121, "Jul 2036")


def test_what_was_seen_before_need_not_be_met_again():
    found = reach(11, (2026, 6), seen=range(6, 13))
    assert found.new == (5, 4, 3, 2, 1)
    assert (found.complete_in, in_words(found.complete_by)) == (55, "Jan 2031")


def test_a_cycle_that_meets_nothing_new_is_complete_at_once():
    assert reach(12, (2026, 6))[2:] == ((), 0, (2026, 6))
    assert reach(14, (2026, 6), seen={2, 4, 8, 10, 12}).new == ()


def test_without_a_measurement_there_is_no_year_to_name():
    found = reach(7, None)
    assert (found.complete_by, found.complete_in, len(found.new)) == (None, 77, 12)


def test_the_strictest_is_the_shortest_interval_that_names_months():
    assert strictest([24, None, 12]) == 12
    assert strictest([None]) is None


@pytest.mark.parametrize("cycle", [0, -11])
def test_no_cycle_is_refused(cycle):
    with pytest.raises(ValueError, match="at least 1 month"):
        months_met(cycle)


@given(st.integers(1, 120), st.integers(1990, 2060), st.integers(1, 12), st.sets(st.integers(1, 12)))
def test_what_is_new_is_what_can_be_met_and_was_not_seen(cycle, year, month, seen):
    found = reach(cycle, (year, month), seen)
    assert set(found.new) == set(found.months) - seen - {month}
    assert found.complete_in <= months_to_meet_them_all(cycle)


def test_the_cycles_shown_are_those_the_trade_speaks_of():
    assert CYCLES_SHOWN == (7, 11, 12, 13, 14, 15)
