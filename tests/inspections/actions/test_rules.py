"""Editions proposed, decided upon, adopted, taken over and ended, with what each changes and what it does not."""

from datetime import UTC, date, datetime

import pytest

from inspections import proof
from inspections.actions import rule_proposals, rules
from inspections.actions.rules import RuleRefused
from inspections.models import Adoption, Decision, DueDate, IntervalRule, Proposal
from inspections.replay.status import status_on
from sites.models import LogEntry, Role, Structure
from tests import factories as f
from tests import story as told
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
AT = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)


def edition(firm, **more) -> IntervalRule:
    """One not yet saved."""
    return f.IntervalRuleFactory.build(firm=firm, recorded_at=None, **more)


def dues(story: told.Story) -> list[str]:
    found = DueDate.objects.filter(structure=story.structure).order_by("due", "pk")
    return [row.due.isoformat() for row in found if row.applies_until is None]


@pytest.fixture
def story() -> told.Story:
    """A complete inspection done on 3 May 2027, due again after 12 months by edition 2027 of “yearly”."""
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"))
    return story


@pytest.fixture
def yearly(story: told.Story) -> IntervalRule:
    return IntervalRule.objects.get(firm=story.firm)


def follow(yearly: IntervalRule, edition_name: str = "2028", **more) -> IntervalRule:
    return edition(yearly.firm, code=yearly.code, edition=edition_name, **more)


def test_a_proposal_is_on_record_with_who_and_why_and_changes_nothing_that_is_due(story) -> None:
    before = dues(story)
    made = rule_proposals.propose(
        edition(story.firm, months=6), by=story.planner, at=AT, words="Marshy ground"
    )
    assert (made.proposal.by, made.proposal.words) == (story.planner, "Marshy ground")
    assert dues(story) == before
    assert LogEntry.objects.latest("number").action == "rule proposed"


def test_a_proposal_cannot_be_adopted_before_it_is_approved(story) -> None:
    made = rule_proposals.propose(edition(story.firm), by=story.planner, at=AT)
    with nothing_saved(), pytest.raises(RuleRefused, match="once it has been approved"):
        rules.adopt(made, adopted_from=date(2027, 6, 1), by=story.signatory, at=AT)


def test_what_was_not_approved_cannot_be_adopted_and_says_why(story) -> None:
    made = rule_proposals.propose(edition(story.firm), by=story.planner, at=AT)
    with pytest.raises(RuleRefused, match="Say why it is not approved"):
        rule_proposals.decide(made, approved=False, by=story.signatory, at=AT)
    rule_proposals.decide(made, approved=False, words="The policy says 11", by=story.signatory, at=AT)
    with pytest.raises(RuleRefused, match="was not approved"):
        rules.adopt(made, adopted_from=date(2027, 6, 1), by=story.signatory, at=AT)


def test_approved_and_adopted_it_asks(story) -> None:
    made = rule_proposals.propose(edition(story.firm, months=6), by=story.planner, at=AT)
    rule_proposals.decide(made, approved=True, by=story.signatory, at=AT)
    assert "2027-11-03" not in dues(story)
    rules.adopt(made, adopted_from=date(2027, 5, 1), by=story.signatory, at=AT)
    assert "2027-11-03" in dues(story)
    assert list(proof.due_date_faults(at=AT)) == []
    assert Adoption.objects.get(interval=made).by == story.signatory


def test_it_is_decided_once(story) -> None:
    made = rule_proposals.propose(edition(story.firm), by=story.planner, at=AT)
    rule_proposals.decide(made, approved=True, by=story.signatory, at=AT)
    with nothing_saved(), pytest.raises(RuleRefused, match="already"):
        rule_proposals.decide(made, approved=False, words="no", by=story.signatory, at=AT)


def test_the_same_edition_is_not_taken_twice(story, yearly) -> None:
    with nothing_saved(), pytest.raises(RuleRefused, match="is on record already"):
        rule_proposals.propose(follow(yearly, yearly.edition), by=story.planner, at=AT)


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"basis": "anniversary"}, "needs anchor"),
        ({"months": 0}, "at least 1"),
        ({"basis": "season", "months": None, "seasons": "3,7"}, "follow one another|in the order"),
        ({"basis": "whenever"}, "is no basis"),
    ],
)
def test_a_rule_that_contradicts_itself_is_refused(story, facts, sentence) -> None:
    with nothing_saved(), pytest.raises(RuleRefused, match=sentence):
        rule_proposals.propose(edition(story.firm, **facts), by=story.planner, at=AT)


def test_a_longer_interval_needs_a_reason(story, yearly) -> None:
    with nothing_saved(), pytest.raises(RuleRefused, match="24 months instead of 12"):
        rule_proposals.propose(follow(yearly, months=24), by=story.planner, at=AT)


def test_every_other_change_of_an_interval_needs_one_too(story, yearly) -> None:
    with nothing_saved(), pytest.raises(RuleRefused, match="This changes the interval of edition"):
        rule_proposals.propose(follow(yearly, months=11), by=story.planner, at=AT)


def test_an_edition_that_asks_the_same_needs_none(story, yearly) -> None:
    same = {field.attname: getattr(yearly, field.attname) for field in IntervalRule._meta.concrete_fields}
    again = IntervalRule(**{**same, "id": None, "recorded_at": None, "edition": "2028"})
    assert rule_proposals.propose(again, by=story.planner, at=AT).pk


@pytest.mark.parametrize("words", ["no staff", "No mony!", "lack of personnel"])
def test_want_of_staff_or_money_is_refused_with_a_sentence(story, yearly, words) -> None:
    with nothing_saved(), pytest.raises(RuleRefused, match="Want of staff or money is no reason"):
        rule_proposals.propose(follow(yearly, months=24), by=story.planner, at=AT, words=words)


@pytest.fixture
def neighbour(story) -> Structure:
    """A structure of another client of the firm."""
    return f.StructureFactory(site__client__firm=story.firm)


@pytest.mark.parametrize("place", ["client", "site", "structure"])
@pytest.mark.parametrize("at_first", [False, True])
def test_a_code_in_use_at_another_place_is_taken_and_what_stands_there_is_not_told(
    story, yearly, neighbour, place, at_first
) -> None:
    here = {"client": neighbour.site.client, "site": neighbour.site, "structure": neighbour}[place]
    code = yearly.code
    if at_first:
        code = f.IntervalRuleFactory(firm=story.firm, code="own look", **{place: here}).code
    elsewhere = {} if at_first else {place: here}
    new = edition(story.firm, code=code, edition="own", months=24, **elsewhere)
    with nothing_saved(), pytest.raises(RuleRefused) as refused:
        rule_proposals.propose(new, by=story.planner, at=AT, words="")
    assert str(refused.value) == "This code is taken in this firm’s rules. Choose another."


def test_a_limits_code_does_not_take_an_intervals(story, neighbour) -> None:
    f.LimitRuleFactory(firm=story.firm, code="bonds", site=neighbour.site)
    assert rule_proposals.propose(edition(story.firm, code="bonds"), by=story.planner, at=AT).pk


def test_another_firms_code_is_not_taken(story) -> None:
    f.IntervalRuleFactory(code="bonds", client=f.ClientFactory())
    assert rule_proposals.propose(edition(story.firm, code="bonds"), by=story.planner, at=AT).pk


def test_where_two_places_have_one_code_from_before_each_goes_on_with_its_own_editions(
    story, yearly, neighbour
) -> None:
    theirs = f.IntervalRuleFactory(firm=story.firm, code=yearly.code, edition="own", site=neighbour.site)
    f.AdoptionFactory(interval=theirs)
    new = edition(story.firm, code=yearly.code, edition="own 2", site=neighbour.site, months=6)
    with pytest.raises(RuleRefused, match="changes the interval of edition own"):
        rule_proposals.propose(new, by=story.planner, at=AT)
    made = rule_proposals.propose(new, by=story.planner, at=AT, words="Seasons")
    assert set(rules.siblings(made)) == {theirs, made}
    assert list(rules.siblings(yearly)) == [yearly]


def longer_by(story, yearly, person) -> IntervalRule:
    words = "Ten years of readings show no change"
    return rule_proposals.propose(follow(yearly, months=24), by=person, at=AT, words=words)


def test_a_longer_interval_is_approved_by_somebody_else(story, yearly) -> None:
    made = longer_by(story, yearly, story.signatory)
    f.MembershipFactory(firm=story.firm, role=Role.QUALITY)
    with nothing_saved(), pytest.raises(RuleRefused, match="somebody other than the person who proposed it"):
        rule_proposals.decide(made, approved=True, by=story.signatory, at=AT)


def test_where_nobody_else_may_the_same_person_approves(story, yearly) -> None:
    made = longer_by(story, yearly, story.signatory)
    assert rule_proposals.decide(made, approved=True, by=story.signatory, at=AT).approved


def test_a_shorter_interval_may_be_approved_by_who_proposed_it(story, yearly) -> None:
    f.MembershipFactory(firm=story.firm, role=Role.QUALITY)
    made = rule_proposals.propose(
        follow(yearly, months=11), by=story.signatory, at=AT, words="The seasons rotate"
    )
    assert rule_proposals.decide(made, approved=True, by=story.signatory, at=AT).approved


def test_an_edition_that_came_with_a_file_needs_its_reason_when_it_is_adopted(story, yearly) -> None:
    filed = follow(yearly, months=24)
    filed.recorded_at = AT
    filed.save()
    with nothing_saved(), pytest.raises(RuleRefused, match="lets more time pass"):
        rules.adopt(filed, adopted_from=date(2027, 6, 1), by=story.signatory, at=AT, take_over=True)


def test_taking_over_ends_the_other_edition_on_the_day_before(story, yearly) -> None:
    made = rule_proposals.propose(follow(yearly, months=11), by=story.planner, at=AT, words="Seasons")
    rule_proposals.decide(made, approved=True, by=story.signatory, at=AT)
    rules.adopt(made, adopted_from=date(2027, 7, 1), by=story.signatory, at=AT, take_over=True)
    old, new = IntervalRule.objects.with_adoption().order_by("pk")
    assert (old.adopted_until, new.adopted_from) == (date(2027, 6, 30), date(2027, 7, 1))
    # Until the first of July the old edition asks.
    assert [row.due.isoformat() for row in DueDate.objects.filter(structure=story.structure)] == [
        "2028-05-03"
    ]
    assert LogEntry.objects.latest("number").payload.count('"ended":{"2027":"2027-06-30"}') == 1


def test_taking_over_leaves_a_rule_of_the_same_code_at_another_place_as_it_is(
    story, yearly, neighbour
) -> None:
    theirs, others = (
        f.IntervalRuleFactory(firm=story.firm, code=yearly.code, edition=name, client=client)
        for name, client in (("theirs", neighbour.site.client), ("others", story.structure.site.client))
    )
    f.AdoptionFactory(interval=others)
    rules.adopt(theirs, adopted_from=date(2027, 6, 1), by=story.signatory, at=AT, take_over=True)
    until = dict(IntervalRule.objects.with_adoption().values_list("edition", "adopted_until"))
    assert until == {yearly.edition: None, "theirs": None, "others": None}


def test_an_edition_cannot_take_over_before_the_other_began(story, yearly) -> None:
    made = rule_proposals.propose(follow(yearly, months=11), by=story.planner, at=AT, words="Seasons")
    rule_proposals.decide(made, approved=True, by=story.signatory, at=AT)
    begun = IntervalRule.objects.with_adoption().get(pk=yearly.pk).adopted_from
    with nothing_saved(), pytest.raises(RuleRefused, match="Give a later day"):
        rules.adopt(made, adopted_from=begun, by=story.signatory, at=AT, take_over=True)


@pytest.mark.parametrize(
    ("day", "words", "sentence"),
    [
        (date(2027, 6, 1), " ", "Say why the rule ends"),
        (date(2027, 6, 1), "no staff", "Want of staff"),
        (date(2027, 5, 9), "the policy ended", "lies in the past"),
    ],
)
def test_ending_needs_a_reason_and_a_day_not_past(story, yearly, day, words, sentence) -> None:
    with nothing_saved(), pytest.raises(RuleRefused, match=sentence):
        rules.end(yearly, last_day=day, words=words, by=story.signatory, at=AT)


def test_an_end_is_moved_to_an_earlier_day_and_to_no_later_one(story, yearly) -> None:
    def end(day: date) -> None:
        rules.end(yearly, last_day=day, words="the policy ended", by=story.signatory, at=AT)

    end(date(2027, 9, 1))
    end(date(2027, 8, 1))
    with (
        nothing_saved(),
        pytest.raises(RuleRefused, match=r"ends on 1 Aug 2027\. Give that day"),
    ):
        end(date(2027, 8, 2))
    assert IntervalRule.objects.with_adoption().get(pk=yearly.pk).adopted_until == date(2027, 8, 1)


def test_an_edition_that_another_took_over_from_is_not_prolonged_beside_it(story, yearly) -> None:
    new = f.IntervalRuleFactory(firm=story.firm, code=yearly.code, edition="2028")
    rules.adopt(new, adopted_from=date(2027, 6, 1), words="x", by=story.signatory, at=AT, take_over=True)
    with nothing_saved(), pytest.raises(RuleRefused, match="ends on 31 May 2027"):
        rules.end(yearly, last_day=date(2030, 6, 1), words="a mistake", by=story.signatory, at=AT)
    assert list(rules.siblings(new).adopted_on(date(2028, 1, 1))) == [new]


def test_what_was_never_adopted_has_nothing_to_end(story) -> None:
    filed = f.IntervalRuleFactory(firm=story.firm)
    with nothing_saved(), pytest.raises(RuleRefused, match="never adopted"):
        rules.end(filed, last_day=date(2027, 6, 1), words="the policy ended", by=story.signatory, at=AT)


def test_its_last_day_still_asks_and_the_next_does_not(story, yearly) -> None:
    rules.end(yearly, last_day=AT.date(), words="the policy ended", by=story.signatory, at=AT)
    row = DueDate.objects.get(structure=story.structure)
    assert (row.applies_until, row.governs) == (AT.date(), True)
    assert list(proof.due_date_faults(at=AT)) == []


def test_an_edition_that_was_in_force_is_not_adopted_anew_for_another_time(story, yearly) -> None:
    rules.end(yearly, last_day=AT.date(), words="the policy ended", by=story.signatory, at=AT)
    since = IntervalRule.objects.with_adoption().get(pk=yearly.pk).adopted_from
    then = date(2027, 5, 9)
    was = [row.obligation.rule for row in next(status_on([story.structure.pk], then)).rows]
    with nothing_saved(), pytest.raises(RuleRefused, match="what it asked for then stays asked for"):
        rules.adopt(yearly, adopted_from=date(2028, 1, 1), by=story.signatory, at=AT)
    assert was == [row.obligation.rule for row in next(status_on([story.structure.pk], then)).rows] != []
    # An end that was a mistake is taken back by the same first day.
    assert rules.adopt(yearly, adopted_from=since, by=story.signatory, at=AT).adopted_until is None


def test_an_adoption_that_has_not_begun_may_be_moved(story) -> None:
    made = edition(story.firm, code="later")
    made.recorded_at = AT
    made.save()
    for day in (date(2028, 1, 1), date(2028, 3, 1)):
        rules.adopt(made, adopted_from=day, by=story.signatory, at=AT)
    assert IntervalRule.objects.with_adoption().get(pk=made.pk).adopted_from == date(2028, 3, 1)


def test_a_limit_goes_the_same_way(story) -> None:
    made = f.LimitRuleFactory.build(firm=story.firm, code="bonds", recorded_at=None)
    made = rule_proposals.propose(made, by=story.planner, at=AT)
    rule_proposals.decide(made, approved=True, by=story.signatory, at=AT)
    rules.adopt(made, adopted_from=date(2027, 6, 1), by=story.signatory, at=AT)
    assert Adoption.objects.get(limit=made).adopted_from == date(2027, 6, 1)
    assert (Proposal.objects.get(limit=made).by, Decision.objects.get(limit=made).by) == (
        story.planner,
        story.signatory,
    )
