"""The due days that follow one another when each is met on its day, counted by hand and by python-dateutil."""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from inspections.rules.due_dates import following
from tests.inspections.rules.due_date_facts import rule

MET = date(2027, 5, 31)
UNTIL = date(2028, 11, 30)


@pytest.mark.parametrize(
    ("asked", "days"),
    [
        (
            rule("rolling", months=6),
            ["2027-11-30", "2028-05-30", "2028-11-30"],
        ),  # each counted from the day before it
        (rule("anniversary", months=6, anchor="2026-05-31"), ["2027-11-30", "2028-05-31", "2028-11-30"]),
        (rule("calendar-month", months=9), ["2028-02-29", "2028-11-30"]),
        (rule("calendar-period", period="year"), []),  # the next is 31 Dec 2028
        (rule("calendar-period", period="half-year"), ["2027-12-31", "2028-06-30"]),
        (rule("season", seasons=((3, 4, 5), (9, 10, 11))), ["2027-11-30", "2028-05-31", "2028-11-30"]),
        (rule("before-use", use_on="2027-05-31"), []),
        (rule("rolling", months=6, early_days=40, grace_days=40), ["2027-11-30", "2028-05-30", "2028-11-30"]),
        (rule("rolling", months=6, adopted_from="2029-01-01"), ["2027-11-30", "2028-05-30", "2028-11-30"]),
        (rule("rolling", months=6, adopted_until="2028-05-29"), ["2027-11-30"]),
    ],
)
def test_each_basis_goes_on_from_its_own_day(asked, days) -> None:
    assert [day.isoformat() for day in following(asked, MET, UNTIL)] == days


@given(
    st.integers(1, 48),
    st.dates(date(2024, 1, 1), date(2028, 12, 31)),
    st.integers(0, 1100),
)
def test_rolling_goes_on_as_dateutil_counts(months, met, ahead) -> None:
    until, walked, day = met + relativedelta(days=ahead), [], met + relativedelta(months=months)
    while day <= until:
        walked.append(day)
        day += relativedelta(months=months)
    assert following(rule("rolling", months=months), met, until) == walked
