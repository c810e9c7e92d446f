"""From which day on an inspection counts for a due day: by hand, and held to the engine itself."""

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from inspections.rules.due_dates import opens
from tests.inspections.rules.due_date_facts import ask, day, rule, visit

SPRING_AUTUMN = ((3, 4, 5), (9, 10, 11))


@pytest.mark.parametrize(
    ("due", "asked", "first"),
    [
        ("2027-05-31", {"basis": "season", "seasons": SPRING_AUTUMN}, "2027-03-01"),
        ("2027-11-30", {"basis": "season", "seasons": SPRING_AUTUMN, "early_days": 200}, "2027-09-01"),
        ("2028-02-29", {"basis": "season", "seasons": ((12, 1, 2),)}, "2027-12-01"),  # over the turn of the year
        ("2027-07-31", {"basis": "season", "seasons": ((7,),)}, "2027-07-01"),
        ("2027-05-31", {"basis": "season", "seasons": ((3, 4, 5), (5,))}, "2027-05-01"),  # two end on one day
        ("2027-05-14", {"basis": "season", "seasons": SPRING_AUTUMN, "early_days": 10}, "2027-05-04"),  # first due
        ("2027-06-30", {"basis": "season", "seasons": SPRING_AUTUMN}, "2027-06-30"),
        ("2027-12-31", {"basis": "calendar-period", "period": "year", "early_days": 10}, "2027-01-01"),
        ("2027-06-30", {"basis": "calendar-period", "period": "half-year"}, "2027-01-01"),
        ("2027-06-30", {"basis": "calendar-period", "period": "quarter", "early_days": 300}, "2027-04-01"),
        ("2027-05-31", {"basis": "calendar-period", "period": "quarter", "early_days": 5}, "2027-05-26"),
        ("2027-06-30", {"basis": "rolling", "early_days": 9}, "2027-06-21"),
        ("2027-06-30", {"basis": "anniversary"}, "2027-06-30"),
        ("2027-06-30", {"basis": None}, "2027-06-30"),
    ],
)  # fmt: skip
def test_it_opens_on_its_day(due, asked, first) -> None:
    assert opens(day(due), **asked) == day(first)


SEASONS = st.tuples(st.integers(1, 12), st.integers(1, 6)).map(
    lambda given: tuple((given[0] + n - 1) % 12 + 1 for n in range(given[1]))
)


@given(SEASONS, st.dates(date(2020, 1, 1), date(2030, 12, 31)), st.integers(0, 200), st.integers(0, 400))
def test_a_visit_counts_for_a_season_from_that_day_on_and_not_a_day_before(season, last, early, into) -> None:
    asked = rule("season", seasons=(season,), early_days=early)
    (row,) = ask(asked, visits=[visit(last.isoformat())], on=last.isoformat()).obligations
    first = opens(row.due, basis="season", early_days=early, seasons=(season,))
    length = (row.due - first).days + 1
    for done, counts in ((first + timedelta(days=into % length), True), (first - timedelta(days=1), False)):
        if done <= last:
            continue
        visits = [visit(last.isoformat()), visit(done.isoformat())]
        (after,) = ask(asked, visits=visits, on=done.isoformat()).obligations
        following = row.due + relativedelta(days=1) + relativedelta(years=1) - relativedelta(days=1)
        assert after.due == (following if counts else row.due)
