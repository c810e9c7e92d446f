"""Counting months and days. Second opinion: python-dateutil's relativedelta, equal to the day."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.rules.due_dates import DayOutOfRange, add_months, local_day
from inspections.rules.due_dates.calendar_arithmetic import (
    add_days,
    in_words,
    month_end_after,
    period_end,
    period_index,
    season_in_order,
)

CIVIL_DAYS = st.dates(date(1900, 1, 1), date(2200, 12, 31))


def test_it_counts_31_august_in_six_month_steps_from_the_anchor():
    steps = [add_months(date(2023, 8, 31), 6 * k) for k in (1, 2, 3, 4)]
    assert steps == [date(2024, 2, 29), date(2024, 8, 31), date(2025, 2, 28), date(2025, 8, 31)]


def test_it_keeps_the_clipped_day_when_steps_are_chained():
    day, steps = date(2023, 8, 31), []
    for _ in range(4):
        day = add_months(day, 6)
        steps.append(day)
    assert steps == [date(2024, 2, 29), date(2024, 8, 29), date(2025, 2, 28), date(2025, 8, 28)]


@pytest.mark.parametrize(
    ("start", "months", "expected"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2027, 1, 31), 1, date(2027, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2027, 12, 31), 2, date(2028, 2, 29)),
        (date(2027, 3, 31), -1, date(2027, 2, 28)),
        (date(2096, 2, 29), 48, date(2100, 2, 28)),
    ],
)
def test_it_clips_to_the_end_of_the_month(start, months, expected):
    assert add_months(start, months) == expected


@settings(deadline=None)
@given(CIVIL_DAYS, st.integers(-600, 600))
def test_it_counts_months_as_relativedelta_does(day, months):
    assert add_months(day, months) == day + relativedelta(months=months)


@settings(deadline=None)
@given(CIVIL_DAYS, st.integers(1, 120))
def test_it_finds_the_month_end_as_relativedelta_does(day, months):
    assert month_end_after(day, months) == day + relativedelta(months=months, day=31)


@settings(deadline=None)
@given(CIVIL_DAYS, st.sampled_from([3, 6, 12]))
def test_it_puts_each_day_into_the_period_that_ends_next(day, length):
    index = period_index(day, length)
    assert period_end(index - 1, length) < day <= period_end(index, length)


@pytest.mark.parametrize(("day", "step"), [(date(9999, 12, 1), 1), (date(1, 1, 1), -1)])
def test_it_says_so_when_a_day_leaves_the_calendar(day, step):
    with pytest.raises(DayOutOfRange, match="years 1 to 9999"):
        add_months(day, step)
    with pytest.raises(DayOutOfRange, match="years 1 to 9999"):
        add_days(day, step * 10**12)


def test_it_takes_the_day_of_an_instant_in_the_zone_not_in_utc():
    late = datetime(2026, 4, 1, 9, 30, tzinfo=UTC)
    assert local_day(late, ZoneInfo("Pacific/Honolulu")) == date(2026, 3, 31)
    assert local_day(late, ZoneInfo("Pacific/Auckland")) == date(2026, 4, 1)


@pytest.mark.parametrize(("seconds", "expected"), [(-1, date(2027, 6, 1)), (0, date(2027, 6, 2))])
def test_it_begins_the_next_day_at_local_midnight(seconds, expected):
    midnight = datetime(2027, 6, 2, tzinfo=ZoneInfo("Europe/London")).astimezone(UTC)
    assert local_day(midnight + timedelta(seconds=seconds), ZoneInfo("Europe/London")) == expected


def test_it_refuses_an_instant_without_an_offset():
    with pytest.raises(ValueError, match="no offset"):
        local_day(datetime(2027, 1, 1), ZoneInfo("UTC"))


@pytest.mark.parametrize(
    ("months", "expected"),
    [([3, 4, 5], (3, 4, 5)), ([1, 2, 12], (12, 1, 2)), ([7], (7,)), (range(1, 13), tuple(range(1, 13)))],
)
def test_it_orders_a_seasons_months_as_they_pass(months, expected):
    assert season_in_order(list(months)) == expected


@pytest.mark.parametrize("months", [[], [3, 5], [0, 1], [12, 13], [3, 3, 4]])
def test_it_refuses_months_that_make_no_season(months):
    with pytest.raises(ValueError, match="follow one another"):
        season_in_order(months)


def test_it_writes_a_day_in_words():
    assert in_words(date(2027, 3, 12)) == "12 Mar 2027"
