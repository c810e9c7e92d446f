"""What a defect is on a day: pure, over every order of rows."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.rules.defects import ADMITS, Kind, Standing, State, Step, age_days, standing

FOUND = date(2026, 3, 3)
NOON = datetime(2026, 3, 3, 12, 0, tzinfo=UTC)


def step(kind: Kind, days: int, *, until: int | None = None, stands: bool = True, number: int = 0) -> Step:
    """A row so many days after the finding."""
    at = NOON + timedelta(days=days)
    end = None if until is None else FOUND + timedelta(days=until)
    return Step(kind, at, at.date(), number or days, end, stands)


def on(days: int, *steps: Step) -> Standing:
    return standing(steps, found_on=FOUND, on=FOUND + timedelta(days=days))


REPAIR, RETEST = step(Kind.REPAIRED, 10), step(Kind.RETESTED, 20)
ACCEPT = step(Kind.ACCEPTED, 5, until=30)


def test_it_is_open_from_the_day_it_was_found() -> None:
    assert on(0) == Standing(State.OPEN, FOUND)


@pytest.mark.parametrize(
    ("day", "state"),
    [(9, State.MADE_SAFE), (10, State.REPAIRED), (19, State.REPAIRED), (20, State.CLOSED), (4, State.OPEN)],
)
def test_it_goes_from_made_safe_through_repair_to_its_retest(day: int, state: State) -> None:
    assert on(day, RETEST, REPAIR, step(Kind.MADE_SAFE, 5)).state == state


def test_it_is_not_closed_by_a_retest_without_a_repair() -> None:
    assert on(50, RETEST).state == State.OPEN
    assert on(50, RETEST, step(Kind.REPAIRED, 30)).state == State.REPAIRED


def test_it_awaits_its_retest_again_when_the_reading_no_longer_stands() -> None:
    gone = step(Kind.RETESTED, 20, stands=False)
    assert on(50, REPAIR, gone).state == State.REPAIRED
    assert on(50, REPAIR, gone, step(Kind.RETESTED, 40)).state == State.CLOSED


@pytest.mark.parametrize(("day", "state"), [(5, State.ACCEPTED), (30, State.ACCEPTED), (31, State.OPEN)])
def test_an_acceptance_ends_by_itself_on_the_day_after(day: int, state: State) -> None:
    assert on(day, ACCEPT).state == state


def test_an_acceptance_says_until_when_and_ends_to_what_it_was_before() -> None:
    made_safe = step(Kind.MADE_SAFE, 2)
    assert on(8, made_safe, ACCEPT) == Standing(
        State.ACCEPTED, FOUND + timedelta(days=5), until=FOUND + timedelta(days=30)
    )
    assert on(31, made_safe, ACCEPT) == Standing(State.MADE_SAFE, FOUND + timedelta(days=2))


def test_of_several_acceptances_the_one_recorded_last_holds() -> None:
    shorter = step(Kind.ACCEPTED, 6, until=12, number=99)
    assert on(12, ACCEPT, shorter).state == State.ACCEPTED
    assert on(13, ACCEPT, shorter).state == State.OPEN


def test_a_repair_ends_an_acceptance() -> None:
    assert on(11, ACCEPT, REPAIR).state == State.REPAIRED


def test_seen_again_opens_what_was_repaired_or_closed_and_leaves_the_rest() -> None:
    again = step(Kind.SEEN_AGAIN, 25)
    assert on(25, REPAIR, again) == Standing(State.OPEN, FOUND + timedelta(days=25))
    assert on(25, REPAIR, RETEST, again).state == State.OPEN
    assert on(25, step(Kind.MADE_SAFE, 5), again).state == State.MADE_SAFE
    assert on(25, ACCEPT, again).state == State.ACCEPTED


def test_withdrawn_is_for_good() -> None:
    gone = step(Kind.WITHDRAWN, 3)
    assert on(2, gone).state == State.OPEN
    assert on(50, gone, REPAIR, RETEST, step(Kind.SEEN_AGAIN, 40)).state == State.WITHDRAWN


def test_told_as_dangerous_is_a_mark_beside_the_state() -> None:
    told = step(Kind.TOLD, 1)
    assert (on(0, told).told, on(1, told).told) == (False, True)
    assert on(50, told, REPAIR, RETEST) == Standing(State.CLOSED, FOUND + timedelta(days=20), told=True)


def test_its_age_grows_until_it_is_settled() -> None:
    assert age_days(FOUND, on(15, REPAIR, RETEST), FOUND + timedelta(days=15)) == 15
    assert age_days(FOUND, on(500, REPAIR, RETEST), FOUND + timedelta(days=500)) == 20


def steps() -> st.SearchStrategy[list[Step]]:
    one = st.builds(
        step,
        st.sampled_from(list(Kind)),
        st.integers(0, 40),
        until=st.integers(0, 60),
        stands=st.booleans(),
        number=st.integers(1, 1000),
    )
    return st.lists(one, max_size=8, unique_by=lambda row: row.number)


@given(steps(), st.integers(0, 60), st.randoms())
def test_it_does_not_hang_on_the_order_rows_are_given_in(rows: list[Step], day: int, random) -> None:
    mixed = list(rows)
    random.shuffle(mixed)
    assert on(day, *mixed) == on(day, *rows)


@given(steps(), st.integers(0, 60))
def test_it_is_closed_only_by_a_standing_retest_after_a_repair(rows: list[Step], day: int) -> None:
    if on(day, *rows).state == State.CLOSED:
        by_then = [row for row in rows if row.on <= FOUND + timedelta(days=day)]
        retests = [row for row in by_then if row.kind is Kind.RETESTED and row.stands]
        assert any(
            repair.kind is Kind.REPAIRED and (repair.at, repair.number) < (retest.at, retest.number)
            for repair in by_then
            for retest in retests
        )


@given(steps(), st.integers(0, 60))
def test_rows_of_later_days_change_nothing_before(rows: list[Step], day: int) -> None:
    known = [row for row in rows if row.on <= FOUND + timedelta(days=day)]
    assert on(day, *rows) == on(day, *known)


@given(steps(), st.integers(0, 60))
def test_its_state_began_no_later_than_the_day_and_an_acceptance_covers_it(
    rows: list[Step], day: int
) -> None:
    today = FOUND + timedelta(days=day)
    found = on(day, *rows)
    assert FOUND <= found.since <= today
    assert (found.state == State.ACCEPTED) == (found.until is not None)
    assert found.until is None or found.until >= today


def test_no_act_but_a_retest_settles_and_nothing_follows_a_withdrawal() -> None:
    assert set(ADMITS) == set(State)
    assert ADMITS[State.WITHDRAWN] == set()
    assert [state for state, kinds in ADMITS.items() if Kind.RETESTED in kinds] == [State.REPAIRED]
    for state, kinds in ADMITS.items():
        assert (Kind.ACCEPTED in kinds) == (state in (State.OPEN, State.MADE_SAFE, State.ACCEPTED))
