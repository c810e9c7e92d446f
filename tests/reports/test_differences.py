"""In what two issues differ: by point, and what people stated apart from what moved on."""

from dataclasses import replace

from reports.differences import corrected, differences, moved_on
from reports.facts import Amount
from tests.reports.sample_facts import sample_facts


def test_it_finds_nothing_between_a_report_and_itself() -> None:
    facts = sample_facts()
    assert differences(facts, facts) == ()


def test_it_names_the_point_and_what_of_it_changed() -> None:
    before = sample_facts()
    first = before.readings[0]
    other = replace(first, display="9.99", corrected=Amount("9.876", first.unit))
    found = corrected(before, replace(before, readings=(other, *before.readings[1:])))
    assert [row.what for row in found] == [
        f"Point {first.point_number}, display",
        f"Point {first.point_number}, corrected value",
    ]
    assert found[0].before == f"{first.display} {first.unit}"
    assert found[0].after == f"9.99 {first.unit}"


def test_a_reading_that_came_or_went_has_nothing_on_the_other_side() -> None:
    before = sample_facts()
    gone = before.readings[0]
    without = replace(before, readings=before.readings[1:])
    (lost,) = corrected(before, without)
    assert (lost.before, lost.after) == (f"{gone.display} {gone.unit}", None)
    (come,) = corrected(without, before)
    assert (come.before, come.after) == (None, f"{gone.display} {gone.unit}")


def test_what_people_stated_of_the_visit_is_a_correction() -> None:
    before = sample_facts()
    after = replace(before, scope="The tower alone.", conditions=replace(before.conditions, soil="frozen"))
    assert [row.what for row in corrected(before, after)] == ["Scope", "Soil"]
    assert moved_on(before, after) == ()


def test_due_dates_and_defects_that_moved_on_are_told_but_are_no_correction() -> None:
    before = sample_facts()
    after = replace(before, due=(), defects=())
    assert corrected(before, after) == ()
    assert [row.what for row in moved_on(before, after)] == ["Defects", "What is due next"]
    assert all(row.after is None for row in moved_on(before, after))
