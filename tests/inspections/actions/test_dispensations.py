"""More time from the rule's own author: the only way past a stricter rule."""

from datetime import UTC, date, datetime, timedelta

import pytest

from inspections import proof
from inspections.actions import dispensations, due, rules
from inspections.actions.rules import RuleRefused
from inspections.models import Dispensation, DueDate, IntervalRule
from inspections.standing_words import owed_on
from sites.models import LogEntry
from tests import factories as f
from tests import story as told
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
AT = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)
GIVEN = {"document": "letter of 2 Apr 2027", "given_by": "the underwriter", "given_on": date(2027, 4, 2)}


@pytest.fixture
def story() -> told.Story:
    """Inspected on 29 Mar 2026, so overdue since 30 Mar 2027; the firm's own 30 months run on."""
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"), begun=told.ON_SITE - timedelta(days=400))
    adviser = f.IntervalRuleFactory(firm=story.firm, months=30, author_name="The adviser")
    rules.adopt(adviser, adopted_from=date(2026, 1, 1), by=story.planner, at=AT)
    return story


@pytest.fixture
def insurer(story) -> IntervalRule:
    return IntervalRule.objects.get(firm=story.firm, months=12)


def governing(story) -> DueDate:
    return DueDate.objects.get(structure=story.structure, governs=True)


def dispense(story, insurer, **more) -> Dispensation:
    given = {**GIVEN, "until": date(2027, 9, 30), **more}
    return dispensations.dispense(insurer, **given, by=story.signatory, at=AT)


def test_without_one_the_stricter_rule_governs_and_is_overdue(story) -> None:
    assert owed_on(AT.date(), governing(story)).words == "42\u00a0days\u00a0overdue"


def test_the_governing_date_says_that_its_author_allows_more_and_where_that_stands(story, insurer) -> None:
    row = dispense(story, insurer)
    found = governing(story)
    assert (found.rule, found.due, found.grace_until) == (insurer, date(2027, 3, 29), date(2027, 9, 30))
    assert found.dispensation == row
    assert found.why.endswith("The rule's author allows until 30 Sep 2027 (letter of 2 Apr 2027).")
    assert owed_on(AT.date(), found).words == "allowed by its author until 30 Sep 2027"
    assert owed_on(date(2027, 10, 1), found).words == "1\u00a0day\u00a0overdue"
    assert list(proof.due_date_faults(at=AT)) == []


def test_no_other_rule_is_touched(story, insurer) -> None:
    dispense(story, insurer)
    other = DueDate.objects.get(structure=story.structure, governs=False)
    assert (other.dispensation, other.grace_until) == (None, other.due)


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"document": " "}, "Name the document"),
        ({"given_by": ""}, "who signed it"),
        ({"given_on": date(2027, 5, 12)}, "lies in the future"),
        ({"until": date(2027, 4, 1)}, "before it was given"),
    ],
)
def test_what_a_dispensation_needs(story, insurer, more, sentence) -> None:
    with nothing_saved(), pytest.raises(RuleRefused, match=sentence):
        dispense(story, insurer, **more)


def test_the_day_it_was_given_is_one_of_the_place_that_is_furthest_ahead(story, insurer) -> None:
    """Where a structure is named, of its site; else whoever signed may sit anywhere."""
    tomorrow = AT.date() + timedelta(days=1)
    late = AT.replace(hour=20)
    given = {**GIVEN, "until": date(2027, 9, 30), "given_on": tomorrow, "by": story.signatory, "at": late}
    with nothing_saved(), pytest.raises(RuleRefused, match="lies in the future"):
        dispensations.dispense(insurer, **given, structure=story.structure)
    assert dispensations.dispense(insurer, **given).given_on == tomorrow


def test_it_holds_only_where_it_was_given(story, insurer) -> None:
    other = f.StructureFactory(site=story.structure.site)
    due.refresh([other.pk], at=AT)
    dispense(story, insurer, structure=other)
    assert governing(story).dispensation is None
    assert DueDate.objects.get(structure=other, rule=insurer).dispensation is not None


def test_a_place_where_the_rule_does_not_stand_is_refused(story, insurer) -> None:
    elsewhere = f.StructureFactory()
    with nothing_saved(), pytest.raises(RuleRefused, match="stands on nothing there"):
        dispense(story, insurer, structure=elsewhere)


def test_one_that_ends_before_the_due_day_moves_nothing(story, insurer) -> None:
    told.field_complete(story, ("5.00", "6.00", "7.00"))
    dispense(story, insurer)
    found = DueDate.objects.get(structure=story.structure, rule=insurer)
    assert (found.due, found.dispensation) == (date(2028, 5, 3), None)


def test_the_one_that_reaches_furthest_counts(story, insurer) -> None:
    dispense(story, insurer)
    longer = dispense(story, insurer, until=date(2027, 12, 31), document="letter of 1 May 2027")
    assert governing(story).dispensation == longer


def test_withdrawn_it_counts_no_more_and_stays_on_record(story, insurer) -> None:
    row = dispense(story, insurer)
    with pytest.raises(RuleRefused, match="Say why"):
        dispensations.withdraw(row, words="", by=story.signatory, at=AT)
    dispensations.withdraw(row, words="the insurer took it back", by=story.signatory, at=AT)
    assert governing(story).dispensation is None
    assert list(proof.due_date_faults(at=AT)) == []
    with nothing_saved(), pytest.raises(RuleRefused, match="already"):
        dispensations.withdraw(row, words="again", by=story.signatory, at=AT)
    assert LogEntry.objects.latest("number").action == "dispensation withdrawn"


def test_what_the_record_knew_at_an_instant(story, insurer) -> None:
    row = dispense(story, insurer)
    f.DispensationWithdrawalFactory(dispensation=row, by=story.signatory, recorded_at=AT + timedelta(days=9))
    assert not Dispensation.objects.standing(AT - timedelta(seconds=1)).exists()
    assert Dispensation.objects.standing(AT + timedelta(days=8)).get() == row
    assert not Dispensation.objects.standing().exists()


def test_a_proof_finds_a_row_whose_dispensation_was_taken_off(story, insurer) -> None:
    dispense(story, insurer)
    DueDate.objects.filter(governs=True).update(dispensation=None)
    assert len(list(proof.due_date_faults(at=AT))) == 1


def test_more_than_ten_years_are_taken_for_a_slip_of_the_year(story, insurer) -> None:
    with nothing_saved(), pytest.raises(RuleRefused, match="lies more than 10 years on"):
        dispense(story, insurer, until=date(2072, 9, 30))


def test_sent_twice_it_is_kept_once_so_that_taking_it_back_ends_it(story, insurer) -> None:
    row = dispense(story, insurer)
    with (
        nothing_saved(),
        pytest.raises(RuleRefused, match="on record already: letter of 2 Apr 2027 allows it"),
    ):
        dispense(story, insurer)
    dispense(story, insurer, structure=story.structure)
    dispensations.withdraw(row, words="another policy", by=story.signatory, at=AT)
    assert dispense(story, insurer).pk != row.pk
