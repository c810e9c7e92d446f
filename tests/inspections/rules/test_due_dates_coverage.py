"""Which visit satisfies which demand, and what a part-done visit leaves standing."""

from itertools import permutations

import pytest

from .due_date_facts import ask, day, due, event, only, rule, visit

OLD = "2026-01-01"
RESET = "2027-03-31"


def rows(*args, **kwargs):
    return [(row.rule, row.points, row.due.isoformat()) for row in ask(*args, **kwargs).obligations]


@pytest.mark.parametrize(
    ("kind", "satisfied"),
    [
        ("complete", {"visual", "complete", "electrical"}),
        ("first", {"visual", "complete", "electrical"}),
        ("visual", {"visual"}),
        ("electrical", {"electrical"}),
        ("after-event", set()),
        ("re-test", set()),
        ("attended-no-access", set()),
    ],
)
@pytest.mark.parametrize("demand", ["visual", "complete", "electrical"])
def test_complete_covers_visual_and_electrical_one_way(kind, satisfied, demand):
    asked = rule(months=12, demand=demand, first_due=OLD)
    expected = RESET if demand in satisfied else OLD
    assert due(asked, visits=[visit("2026-03-31", kind)], on="2026-06-01") == expected


def test_points_that_a_part_done_visit_left_keep_the_old_due_day():
    visits = [visit("2026-03-31"), visit("2027-03-20", points=["1", "2"])]
    assert rows(rule(months=12), visits=visits, on="2027-05-10") == [
        ("r", ("3",), "2027-03-31"),
        ("r", ("1", "2"), "2028-03-20"),
    ]


def test_left_points_are_overdue_by_themselves_and_say_why():
    visits = [visit("2026-03-31"), visit("2027-03-20", points=["1"])]
    left, done = ask(rule(months=12), visits=visits, on="2027-05-10").obligations
    assert (left.points, left.state, left.days_overdue) == (("2", "3"), "overdue", 40)
    assert (done.points, done.state, done.overdue_since) == (("1",), "not yet due", None)
    assert left.why.endswith("Points 2 and 3 keep their due day: left out at the visit of 20 Mar 2027.")


def test_left_points_are_listed_in_the_structures_order():
    visits = [visit("2026-03-31"), visit("2027-03-20", points=["b"])]
    points = ("c", "b", "a")
    assert rows(rule(months=12), visits=visits, points=points, on="2027-05-10")[0][1] == ("c", "a")


def test_points_never_covered_keep_the_first_due_day():
    asked = rule(months=12, first_due="2026-06-30", adopted_from="2026-01-01")
    assert rows(asked, visits=[visit("2026-05-01", points=["1", "2"])], on="2026-06-01") == [
        ("r", ("3",), "2026-06-30"),
        ("r", ("1", "2"), "2027-05-01"),
    ]


def test_points_never_covered_with_no_first_day_are_due_from_the_visit_that_left_them():
    left = ask(rule(months=12), visits=[visit("2026-05-01", points=["1", "2"])], on="2026-06-01").obligations[
        0
    ]
    assert (left.points, left.due, left.state) == (("3",), day("2026-05-01"), "overdue")


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_part_done_visits_together_may_cover_every_point(order):
    parts = [
        visit("2027-03-20", points=["1"]),
        visit("2027-03-25", points=["3"]),
        visit("2027-03-28", points=["2"]),
    ]
    asked = rule("anniversary", months=12, anchor="2026-03-31", early_days=30)
    assert rows(asked, visits=[parts[place] for place in order], on="2027-05-10") == [
        ("r", "all", "2028-03-31")
    ]


def test_part_done_rolling_visits_leave_one_row_for_each_due_day():
    visits = [visit("2027-03-20", points=["1", "3"]), visit("2027-03-25", points=["2"])]
    assert rows(rule(months=12), visits=visits, on="2027-05-10") == [
        ("r", ("1", "3"), "2028-03-20"),
        ("r", ("2",), "2028-03-25"),
    ]


def test_a_list_of_every_point_is_all_of_them():
    assert (
        only(rule(months=12), visits=[visit("2027-03-20", points=["3", "2", "1"])], on="2027-05-10").points
        == "all"
    )


def test_a_visual_visit_of_some_points_resets_the_visual_rule_of_those_points_alone():
    visits = [visit("2026-03-31"), visit("2026-09-30", "visual", points=["2"])]
    asked = [rule(id="look", demand="visual", months=12), rule(id="whole", months=12)]
    assert rows(*asked, visits=visits, on="2026-10-01") == [
        ("look", ("1", "3"), "2027-03-31"),
        ("whole", "all", "2027-03-31"),
        ("look", ("2",), "2027-09-30"),
    ]


def test_before_use_asks_only_for_the_points_not_yet_seen():
    asked = rule("before-use", use_on="2027-06-01", early_days=20)
    assert rows(asked, visits=[visit("2027-05-20", points=["1"])], on="2027-05-25") == [
        ("r", ("2", "3"), "2027-06-01")
    ]


def test_a_structure_without_points_is_satisfied_by_a_whole_visit_only():
    asked = rule(months=12, first_due=OLD)
    assert due(asked, visits=[visit("2026-03-31")], points=(), on="2026-06-01") == RESET
    assert due(asked, visits=[visit("2026-03-31", points=[])], points=(), on="2026-06-01") == OLD


def test_an_event_stands_for_the_points_not_yet_inspected_after_it():
    struck = event("2027-01-05", 7)
    first = visit("2027-01-08", "after-event", points=["1", "2"])
    assert rows(events=[struck], visits=[first], on="2027-01-20") == [("e", ("3",), "2027-01-12")]
    second = visit("2027-01-21", "complete", points=["3"])
    assert rows(events=[struck], visits=[first, second], on="2027-01-25") == []


def test_many_left_points_are_counted_in_the_sentence_not_listed():
    points = tuple(str(number) for number in range(40))
    visits = [visit("2026-03-31"), visit("2027-03-20", points=["0"])]
    left = ask(rule(months=12), visits=visits, points=points, on="2027-05-10").obligations[0]
    assert left.why.endswith("39 points keep their due day: left out at the visit of 20 Mar 2027.")
