"""What adopting or ending would change, told before and recording nothing."""

from datetime import UTC, date, datetime

import pytest

from inspections import rule_preview
from inspections.actions import due, rules
from inspections.models import DueDate
from tests import factories as f
from tests import story as told
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
AT = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)


@pytest.fixture
def story() -> told.Story:
    """One structure done on 3 May 2027 and due every 12 months; two of class II that owe 24 months, never done."""
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"))
    for name in ("Mast", "Store"):
        f.StructureFactory(site=story.structure.site, name=name, protection_class="II")
    return story


def everywhere(story, **more):
    return f.IntervalRuleFactory(firm=story.firm, **more)


def test_a_shorter_interval_gives_an_earlier_date_and_nothing_is_recorded(story) -> None:
    shorter = everywhere(story, months=6)
    with nothing_saved():
        found = rule_preview.of_adopting(shorter, date(2027, 5, 10), at=AT)
    change = next(each for each in found.earlier if each.structure == story.structure)
    assert (change.before, change.after) == (date(2028, 5, 3), date(2027, 11, 3))


def test_it_says_in_words_how_many(story) -> None:
    first_of_two = everywhere(story, classes="II", demand="visual", months=6)
    due.refresh(rules.concerned(first_of_two), at=AT)
    rules.end(_yearly(story), last_day=AT.date(), words="the policy ended", by=story.signatory, at=AT)
    found = rule_preview.of_adopting(first_of_two, date(2027, 5, 20), at=AT)
    assert (
        found.words == "2 structures get a date where nothing was asked before; 0 structures keep their date."
    )


def test_a_later_date_is_told_when_a_longer_edition_takes_over(story) -> None:
    yearly = _yearly(story)
    longer = everywhere(story, code=yearly.code, edition="2028", months=24)
    found = rule_preview.of_adopting(longer, date(2027, 6, 1), at=AT)
    assert [(each.structure, each.after) for each in found.later if each.structure == story.structure] == [
        (story.structure, date(2029, 5, 3))
    ]
    assert found.on == date(2027, 6, 1)


def test_what_is_told_is_what_happens(story) -> None:
    shorter = everywhere(story, months=6)
    found = rule_preview.of_adopting(shorter, AT.date(), at=AT)
    rules.adopt(shorter, adopted_from=AT.date(), by=story.signatory, at=AT, take_over=True)
    now = dict(DueDate.objects.filter(governs=True).values_list("structure", "due"))
    assert all(now.get(each.structure.pk) == each.after for each in found.changed)


def test_ending_the_only_rule_leaves_nothing_owed(story) -> None:
    found = rule_preview.of_ending(_yearly(story), date(2027, 6, 30), at=AT)
    assert story.structure in [each.structure for each in found.ended]
    assert found.words.startswith("3 structures owe nothing any more")


def test_what_is_overdue_and_would_fall_away_is_told_though_the_date_stays(story) -> None:
    """Two authors ask for the same day; ending the one moves no date, but one of two breaches leaves the list."""
    twin = everywhere(story, author_name="The licence")
    rules.adopt(twin, adopted_from=date(2026, 1, 1), by=story.signatory, at=AT)
    on = date(2028, 5, 10)  # a week after both are due
    found = rule_preview.of_ending(twin, on, at=datetime(2028, 5, 10, 12, 0, tzinfo=UTC))
    assert found.words.startswith("No date changes")
    assert (found.overdue_before, found.overdue_after) == (6, 3)  # of three structures
    assert found.overdue_words == "3 obligations overdue on that day instead of 6."


def test_too_many_to_reckon_are_counted_and_said(story, monkeypatch) -> None:
    monkeypatch.setattr(rule_preview, "MOST_RECKONED", 1)
    found = rule_preview.of_adopting(everywhere(story, months=6), AT.date(), at=AT)
    assert (found.reckoned, found.left_out) == (1, 2)


def _yearly(story):
    from inspections.models import IntervalRule

    return IntervalRule.objects.get(firm=story.firm, months=12)
