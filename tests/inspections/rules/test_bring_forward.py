"""Proposals to bring work forward: inside the window, never after the due day, and nothing gets lost."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.rules.bring_forward import Falling, bring_forward, monday_of

TODAY = date(2027, 5, 19)  # a Wednesday
WEEKS = 26
groups = st.lists(
    st.builds(
        lambda due, early, number: Falling(
            TODAY + timedelta(days=due - early), TODAY + timedelta(days=due), number
        ),
        st.integers(-40, WEEKS * 7 + 40),
        st.integers(0, 120),
        st.integers(1, 60),
    ),
    max_size=30,
)
planned = st.dictionaries(
    st.integers(0, WEEKS - 1).map(lambda n: monday_of(TODAY) + timedelta(weeks=n)),
    st.integers(1, 30),
    max_size=8,
)


@given(groups, planned)
def test_no_proposal_lies_outside_its_window_nor_in_the_past_and_the_sum_is_kept(
    falling: list[Falling], stands: dict[date, int]
) -> None:
    found = bring_forward(falling, today=TODAY, weeks=WEEKS, planned=stands)
    for one in found.proposals:
        assert one.earliest <= one.on <= one.due and one.on >= TODAY
        assert monday_of(one.on) < monday_of(one.due)
    assert sum(found.after.values()) == sum(found.before.values())
    assert max(found.after.values()) <= max(found.before.values())
    for monday, load in found.after.items():
        assert load <= max(found.level, found.before[monday])
        assert load >= stands.get(monday, 0)


@given(groups)
def test_it_proposes_no_more_of_a_group_than_there_is(falling: list[Falling]) -> None:
    there: dict[tuple[date, date], int] = {}
    for each in falling:
        there[each.earliest, each.due] = there.get((each.earliest, each.due), 0) + each.number
    taken: dict[tuple[date, date], int] = {}
    for one in bring_forward(falling, today=TODAY, weeks=WEEKS).proposals:
        taken[one.earliest, one.due] = taken.get((one.earliest, one.due), 0) + one.number
    assert all(taken[key] <= there[key] for key in taken)


def test_it_takes_a_peak_to_the_nearest_weeks_with_room_as_counted_by_hand() -> None:
    monday = date(2027, 5, 17)
    due = monday + timedelta(weeks=3)
    found = bring_forward([Falling(due - timedelta(weeks=2), due, 8)], today=monday, weeks=4)
    assert found.level == 2
    assert list(found.before.values()) == [0, 0, 0, 8]
    assert list(found.after.values()) == [0, 2, 2, 4]
    assert [(one.on, one.number) for one in found.proposals] == [
        (monday + timedelta(weeks=1), 2),
        (monday + timedelta(weeks=2), 2),
    ]


def test_a_rule_without_an_early_window_moves_nothing() -> None:
    due = TODAY + timedelta(weeks=5)
    assert bring_forward([Falling(due, due, 40)], today=TODAY, weeks=WEEKS).proposals == ()


@pytest.mark.parametrize(("early", "number"), [(-1, 1), (3, 0)])
def test_it_refuses_a_window_that_cannot_be(early: int, number: int) -> None:
    with pytest.raises(ValueError, match="early window"):
        Falling(TODAY - timedelta(days=early), TODAY, number)
