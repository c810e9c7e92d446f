"""What was looked at counts part by part, what was measured point by point, a complete inspection by both."""

from .due_date_facts import ask, event, rule, suspension, visit

PARTS = ("mesh", "rod", "bond")


def rows(*rules, **facts):
    found = ask(*rules, **{"parts": PARTS, **facts}).obligations
    return [(row.demand, row.points, row.parts, row.due.isoformat()) for row in found]


def demands(**facts):
    names = ("visual", "complete", "electrical")
    return rows(*(rule(id=name, demand=name, months=12) for name in names), **facts)


def test_a_part_left_at_a_complete_visit_keeps_its_day_by_the_visual_and_the_complete_demand_only():
    visits = [visit("2026-03-31"), visit("2027-03-20", parts=["mesh", "bond"])]
    assert demands(visits=visits, on="2027-05-10") == [
        ("visual", (), ("rod",), "2027-03-31"),
        ("complete", (), ("rod",), "2027-03-31"),
        ("visual", (), ("mesh", "bond"), "2028-03-20"),
        ("complete", ("1", "2", "3"), ("mesh", "bond"), "2028-03-20"),
        ("electrical", "all", "all", "2028-03-20"),
    ]


def test_a_point_left_at_a_complete_visit_concerns_no_visual_demand():
    visits = [visit("2026-03-31"), visit("2027-03-20", points=["1", "2"])]
    assert demands(visits=visits, on="2027-05-10") == [
        ("complete", ("3",), (), "2027-03-31"),
        ("electrical", ("3",), (), "2027-03-31"),
        ("visual", "all", "all", "2028-03-20"),
        ("complete", ("1", "2"), (), "2028-03-20"),
        ("electrical", ("1", "2"), (), "2028-03-20"),
    ]


def test_a_later_visual_visit_sees_what_was_left_for_the_visual_demand_alone():
    visits = [
        visit("2026-03-31"),
        visit("2027-03-20", parts=["mesh", "bond"]),
        visit("2027-04-10", "visual", parts=["rod"]),
    ]
    assert demands(visits=visits, on="2027-05-10")[:1] == [("complete", (), ("rod",), "2027-03-31")]
    assert ("visual", (), ("rod",), "2028-04-10") in demands(visits=visits, on="2027-05-10")


def test_parts_are_counted_in_the_sentence_and_points_named():
    visits = [visit("2026-03-31"), visit("2027-03-20", points=["1", "2"], parts=["mesh"])]
    left = ask(rule(months=12), visits=visits, parts=PARTS, on="2027-05-10").obligations[0]
    assert left.why.endswith("Point 3 and 2 parts keep their due day: left out at the visit of 20 Mar 2027.")
    alone = ask(rule(demand="visual", months=12), visits=[visits[0], visit("2027-03-20", parts=PARTS[:2])],
                parts=PARTS, on="2027-05-10").obligations[0]  # fmt: skip
    assert alone.why.endswith(" 1 part keeps its due day: left out at the visit of 20 Mar 2027.")


def test_while_every_visit_saw_every_part_none_is_told_apart():
    told = ask(rule(months=12), visits=[visit("2026-03-31", points=["1"])], parts=PARTS, on="2026-05-10")
    assert {row.parts for row in told.obligations} == {()}


def test_a_later_visit_does_not_tell_parts_apart_on_the_days_before_it():
    before = [visit("2026-03-31"), visit("2027-03-20", points=["1", "2"])]
    after = [*before, visit("2027-06-01", "visual", parts=["rod"])]
    asked = rule(months=12)
    assert rows(asked, visits=before, on="2027-05-10") == rows(asked, visits=after, on="2027-05-10")


def test_an_event_and_a_return_to_use_ask_for_the_parts_as_well():
    looked = visit("2027-01-08", "after-event", parts=["mesh", "rod"])
    assert rows(events=[event("2027-01-05", 7)], visits=[looked], on="2027-01-20") == [
        ("complete", (), ("bond",), "2027-01-12")
    ]
    back = visit("2027-02-02", parts=["mesh", "rod"])
    assert rows(suspensions=[suspension("2027-01-01", "2027-02-01")], visits=[back], on="2027-02-20") == [
        ("complete", (), ("bond",), "2027-02-02")
    ]


def test_without_points_the_parts_alone_decide():
    visits = [visit("2026-03-31"), visit("2027-03-20", parts=["mesh", "bond"])]
    assert rows(rule(months=12), visits=visits, points=(), on="2027-05-10") == [
        ("complete", (), ("rod",), "2027-03-31"),
        ("complete", (), ("mesh", "bond"), "2028-03-20"),
    ]
