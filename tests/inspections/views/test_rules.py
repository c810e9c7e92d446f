"""The pages of the rules: who sees what, proposing by form, approving, adopting with its preview, dispensations."""

from datetime import UTC, date, datetime

import pytest
import time_machine
from django.db import connection
from django.forms import ChoiceField
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.actions import rule_proposals, rules
from inspections.forms.rules import initial_of
from inspections.models import Adoption, Decision, Dispensation, DueDate, IntervalRule, LimitRule
from inspections.rule_words import limit_words
from sites.models import Role, Scope
from tests import factories as f
from tests import story as told
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)
INTERVAL = {
    "code": "store, visual", "title": "Look at the store", "author": "insurer", "author_name": "An Invented Insurer",
    "source": "policy, condition 9", "edition": "2027", "status": "stated by its author", "demand": "visual",
    "basis": "rolling", "months": "6",
}  # fmt: skip
LIMIT = {
    **INTERVAL, "code": "bonds", "quantity": "bond", "limit": "20 mΩ", "reference_temperature": "20 °C",
    "decision": "guarded", "guard": "1", "methods": ["four-wire"], "minimum_current": "10 A", "repeats": "2",
    "allowed_spread": "5 %", "open_circuit_min": "4 V", "open_circuit_max": "24 V",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def story() -> told.Story:
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00", "7.00"))
    return story


@pytest.fixture
def yearly(story) -> IntervalRule:
    return IntervalRule.objects.get(firm=story.firm)


def as_(person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def page(client: Client, name: str, *args, status: int = 200, **query) -> str:
    response = client.get(reverse(name, args=args), query)
    assert response.status_code == status
    return response.content.decode()


def facility(story, *, site=None, client=None):
    member = f.MembershipFactory(firm=story.firm, role=Role.FACILITY)
    f.ScopeFactory(membership=member, site=site, client=client)
    return member.person


def test_the_office_sees_every_rule_with_its_source_and_state(story, yearly) -> None:
    f.IntervalRuleFactory(firm=story.firm, title="Not in use", status="from memory")
    text = page(as_(story.planner), "rules")
    assert "Complete inspection" in text and "in force" in text
    assert "<b>from memory</b>" in text and "not adopted" in text
    assert "check it against your adopted edition" in text


def test_limits_stand_under_their_filter(story) -> None:
    text = page(as_(story.planner), "rules", kind="limit")
    assert "Continuity: at most 20\xa0mΩ at 20\xa0°C; decided guarded" in text


def test_another_firms_rules_are_not_there(story) -> None:
    stranger = f.IntervalRuleFactory(title="Elsewhere")
    f.AdoptionFactory(interval=stranger)
    assert "Elsewhere" not in page(as_(story.planner), "rules")
    page(as_(story.planner), "rule", "interval", stranger.pk, status=404)


def test_whoever_answers_for_a_site_sees_what_stands_there_and_no_draft(story, yearly) -> None:
    other = f.StructureFactory(site__client__firm=story.firm)
    for title, more in (
        ("Here", {"structure": story.structure}), ("There", {"structure": other}), ("Class I", {"classes": "I"}),
        ("Class III", {"classes": "I,III"}), ("Explosives", {"explosion_risk": True}),
    ):  # fmt: skip
        f.AdoptionFactory(interval=f.IntervalRuleFactory(firm=story.firm, title=title, **more))
    f.IntervalRuleFactory(firm=story.firm, title="Draft")
    text = page(as_(facility(story, site=story.structure.site)), "rules")
    assert all(title in text for title in ("Here", "Class III", "Complete inspection"))
    assert not any(title in text for title in ("There", "Class I<", "Explosives", "Draft"))


def test_rules_in_force_on_a_chosen_day(story, yearly) -> None:
    later = f.IntervalRuleFactory(firm=story.firm, title="From July")
    f.AdoptionFactory(interval=later, adopted_from=date(2027, 7, 1))
    client = as_(story.planner)
    assert "From July" not in page(client, "rules", on="2027-06-30")
    assert "From July" in page(client, "rules", on="2027-07-01")


def test_a_list_of_many_costs_no_more_queries_than_one(story, yearly) -> None:
    client = as_(story.planner)
    counts = []
    for number in (0, 30):
        for _ in range(number):
            f.AdoptionFactory(interval=f.IntervalRuleFactory(firm=story.firm, structure=story.structure))
        with CaptureQueriesContext(connection) as queries:
            page(client, "rules")
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_the_page_of_a_rule_shows_where_it_stands_and_who_adopted_it(story, yearly) -> None:
    rules.adopt(yearly, adopted_from=date(2020, 1, 1), by=story.signatory, at=NOW)
    text = page(as_(story.planner), "rule", "interval", yearly.pk)
    assert story.structure.name in text and str(story.signatory) in text
    assert "Only the rule’s own author can allow a later date" in text


def test_an_unknown_kind_does_not_exist(story, yearly) -> None:
    page(as_(story.planner), "rule", "other", yearly.pk, status=404)


def test_an_interval_is_proposed_by_form(story) -> None:
    sent = as_(story.planner).post(reverse("rule-propose", args=["interval"]), INTERVAL)
    made = IntervalRule.objects.get(code="store, visual")
    assert sent.status_code == 302
    assert (made.months, made.demand, made.proposal.by) == (6, "visual", story.planner)
    assert not Adoption.objects.filter(interval=made).exists()


@pytest.mark.parametrize("kind", ["interval", "limit"])
def test_nothing_is_claimed_by_leaving_a_list_as_it_stands(story, kind) -> None:
    form = as_(story.planner).get(reverse("rule-propose", args=[kind])).context["form"]
    for field in form:
        if isinstance(field.field, ChoiceField) and field.field.required:
            assert field.field.choices[0] == ("", "Choose"), field.name
            assert not field.initial


@pytest.mark.parametrize(
    ("basis", "own", "column", "kept"),
    [
        ("anniversary", {"months": "12", "anchor": "2024-02-29"}, "anchor", date(2024, 2, 29)),
        ("calendar-month", {"months": "24"}, "months", 24),
        ("calendar-period", {"months": "", "period": "half-year"}, "period", "half-year"),
        ("season", {"months": "", "seasons": "3 4 5|9 10 11"}, "seasons", "3,4,5;9,10,11"),
        ("before-use", {"months": "", "use_on": "2027-06-01"}, "use_on", date(2027, 6, 1)),
    ],
)
def test_every_basis_of_counting_can_be_stated(story, basis, own, column, kept) -> None:
    given = {
        **INTERVAL,
        "basis": basis,
        "early_days": "30",
        "grace_days": "14",
        "classes": ["I", "III"],
        **own,
    }
    as_(story.planner).post(reverse("rule-propose", args=["interval"]), given)
    made = IntervalRule.objects.get(code="store, visual")
    assert (getattr(made, column), made.early_days, made.grace_days, made.classes) == (kept, 30, 14, "I,III")


def test_a_limit_is_proposed_by_form(story) -> None:
    as_(story.planner).post(reverse("rule-propose", args=["limit"]), LIMIT)
    made = LimitRule.objects.get(code="bonds")
    assert (str(made.limit_ohm), made.methods, str(made.minimum_current_a), made.repeats) == (
        "0.020", "four-wire", "10", 2,
    )  # fmt: skip


def test_a_limit_of_one_electrode_may_be_a_share_of_the_whole_earths(story) -> None:
    shared = {**LIMIT, "quantity": "earth", "limit": "10 Ω", "times_per_electrode": "1"}
    client = as_(story.planner)
    assert (
        client.post(reverse("rule-propose", args=["limit"]), {**shared, "quantity": "bond"}).status_code
        == 422
    )
    client.post(reverse("rule-propose", args=["limit"]), shared)
    made = LimitRule.objects.get(code="bonds")
    assert (made.times_per_electrode, made.of_one(3)) == (1, 30)
    assert "at most n × 10 Ω where the system has n electrodes" in limit_words(made).replace("\u00a0", " ")
    assert initial_of(made)["times_per_electrode"] == "1"


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"months": "twelve"}, "is not a whole number"),
        ({"months": ""}, "Counting by “rolling” needs it"),
        ({"period": "year"}, "does not use it. Empty this field"),
        ({"structure": "Nowhere"}, "No structure is on record there under that name"),
        ({"title": ""}, "Say what it asks"),
        ({"status": ""}, "Say how sure the source is"),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_kept(story, changed, sentence) -> None:
    client = as_(story.planner)
    client.get(reverse("rules"))
    with nothing_saved():
        response = client.post(reverse("rule-propose", args=["interval"]), {**INTERVAL, **changed})
    text = response.content.decode()
    assert response.status_code == 422
    assert sentence in text and "policy, condition 9" in text


def test_a_new_edition_that_lets_more_time_pass_asks_for_its_reason(story, yearly) -> None:
    url = reverse("rule-new-edition", args=["interval", yearly.pk])
    client = as_(story.planner)
    assert 'value="Complete inspection"' in client.get(url).content.decode()
    given = {**INTERVAL, "edition": "2028", "demand": "complete", "months": "24", "words": "no staf"}
    refused = client.post(url, given)
    assert refused.status_code == 422
    assert "Want of staff or money is no reason" in refused.content.decode()
    client.post(url, {**given, "words": "Ten years of readings show no change"})
    assert IntervalRule.objects.get(edition="2028").code == yearly.code


def test_an_approver_approves_sees_what_would_change_and_adopts(story, yearly) -> None:
    made = f.IntervalRuleFactory.build(
        firm=story.firm, code=yearly.code, edition="2028", months=6, recorded_at=None
    )
    made = rule_proposals.propose(made, by=story.planner, at=NOW, words="The ground is marshy")
    client = as_(story.signatory)
    assert "Keep the answer" in page(client, "rule", "interval", made.pk)
    client.post(reverse("rule-decide", args=["interval", made.pk]), {"decide-approved": "yes"})
    assert Decision.objects.get(interval=made).approved
    url = reverse("rule-adopt", args=["interval", made.pk])
    with nothing_saved():
        text = client.get(url, {"adopted_from": "2027-05-10"}).content.decode()
    assert "1 structure gets an earlier date; 0 structures keep their date." in text
    assert client.post(url, {"adopted_from": "2027-05-10", "words": ""}).status_code == 302
    assert DueDate.objects.get(structure=story.structure, governs=True).due == date(2027, 11, 3)
    beside = page(client, "rule", "interval", made.pk)
    assert "Edition 2027" in beside and "changed" in beside


def test_a_refused_decision_needs_words_and_keeps_what_was_chosen(story) -> None:
    made = rule_proposals.propose(
        f.IntervalRuleFactory.build(firm=story.firm, recorded_at=None), by=story.planner, at=NOW
    )
    response = as_(story.signatory).post(
        reverse("rule-decide", args=["interval", made.pk]), {"decide-approved": "no"}
    )
    assert response.status_code == 422
    assert "Say why it is not approved" in response.content.decode()


def test_ending_shows_what_falls_away_first(story, yearly) -> None:
    client = as_(story.signatory)
    url = reverse("rule-end", args=["interval", yearly.pk])
    with nothing_saved():
        assert (
            "1 structure owes nothing any more"
            in client.get(url, {"last_day": "2027-06-30"}).content.decode()
        )
    refused = client.post(url, {"last_day": "2027-06-30", "words": "no money"})
    assert refused.status_code == 422 and "no reason" in refused.content.decode()
    client.post(url, {"last_day": "2027-06-30", "words": "The policy ended"})
    assert IntervalRule.objects.with_adoption().get(pk=yearly.pk).adopted_until == date(2027, 6, 30)


@pytest.mark.parametrize(
    ("day", "sentence"),
    [("2027-07-01", "This edition ends on 30 Jun 2027"), ("2027-05-09", "The last day lies in the past")],
)
def test_a_last_day_that_would_be_refused_is_refused_when_it_is_asked_about(
    story, yearly, day, sentence
) -> None:
    client = as_(story.signatory)
    url = reverse("rule-end", args=["interval", yearly.pk])
    client.post(url, {"last_day": "2027-06-30", "words": "The policy ended"})
    shown = client.get(url)
    assert "give that day or an earlier one" in shown.content.decode()
    refused = client.get(url, {"last_day": day})
    assert refused.status_code == 422
    assert sentence in " ".join(refused.context["form"].errors["last_day"])
    assert "End it on this day" not in refused.content.decode()
    assert "End it on this day" in client.get(url, {"last_day": "2027-06-29"}).content.decode()


def test_a_dispensation_is_recorded_shown_and_withdrawn(story, yearly) -> None:
    client = as_(story.signatory)
    given = {
        "document": "letter of 2 Apr",
        "given_by": "the underwriter",
        "given_on": "2027-04-02",
        "until": "2028-09-30",
    }
    client.post(reverse("rule-dispense", args=[yearly.pk]), given)
    row = Dispensation.objects.get()
    assert "letter of 2 Apr" in page(client, "rule", "interval", yearly.pk)
    shown = page(client, "structure", story.structure.pk)
    assert "allows until 30 Sep 2028 (letter of 2 Apr)" in shown.replace("&#x27;", "'")
    client.post(reverse("dispensation-withdraw", args=[row.pk]), {"words": "taken back"})
    assert not Dispensation.objects.standing().exists()


@pytest.mark.parametrize("place", ["client", "site", "structure"])
def test_a_dispensation_is_told_only_to_who_sees_its_place(story, yearly, place) -> None:
    """The rule stands everywhere; a letter about somebody else's bunker does not."""
    theirs = f.StructureFactory(site__client__firm=story.firm)
    letters = {}
    for structure, document in ((story.structure, "letter about here"), (theirs, "letter about theirs")):
        there = {"client": structure.site.client, "site": structure.site, "structure": structure}
        f.DispensationFactory(interval=yearly, document=document, **{place: there[place]})
        for scope in ("client", "site"):
            letters[scope, document] = facility(story, **{scope: there[scope]})
    f.DispensationFactory(interval=yearly, document="letter about all")
    documents = {"letter about here", "letter about theirs", "letter about all"}
    shown = {
        key: {name for name in documents if name in page(as_(person), "rule", "interval", yearly.pk)}
        for key, person in letters.items()
    }
    assert shown == {(scope, document): {document, "letter about all"} for scope, document in letters}
    told_all = page(as_(story.planner), "rule", "interval", yearly.pk)
    assert all(name in told_all for name in documents)


def test_whoever_answers_for_a_site_states_a_rule_of_their_own_there(story) -> None:
    person = facility(story, site=story.structure.site)
    given = {**INTERVAL, "structure": story.structure.name}
    as_(person).post(reverse("rule-propose", args=["interval"]), given)
    made = IntervalRule.objects.get(code="store, visual")
    assert (made.author, made.status, made.structure) == ("client", "stated by its author", story.structure)
    assert "Look at the store" in page(as_(person), "rules")


@pytest.mark.parametrize("place", ["nowhere", "elsewhere", "client"])
def test_they_state_none_for_other_places(story, place) -> None:
    other = f.StructureFactory(site__client__firm=story.firm, name="Another's")
    named = {
        "nowhere": {},
        "elsewhere": {"structure": other.name},
        "client": {"client": story.structure.site.client.name},
    }[place]
    client = as_(facility(story, site=story.structure.site))
    client.get(reverse("rules"))
    with nothing_saved():
        response = client.post(reverse("rule-propose", args=["interval"]), {**INTERVAL, **named})
    assert response.status_code == 422


def test_they_cannot_take_the_code_of_a_rule_that_stands_elsewhere(story, yearly) -> None:
    person = facility(story, site=story.structure.site)
    hidden = f.IntervalRuleFactory(
        firm=story.firm, code="hidden", client=f.ClientFactory(firm=story.firm), months=1
    )
    client = as_(person)
    client.get(reverse("rules"))
    for code in (yearly.code, hidden.code):
        given = {**INTERVAL, "code": code, "edition": "own", "structure": story.structure.name}
        with nothing_saved():
            refused = client.post(reverse("rule-propose", args=["interval"]), given)
        assert refused.status_code == 422
        assert refused.context["form"].errors == {
            "code": ["This code is taken in this firm’s rules. Choose another."]
        }


def test_they_cannot_take_the_code_of_a_rule_that_somebody_else_brought_for_the_same_place(story) -> None:
    """The insurer's rule for their own building would end when theirs is adopted."""
    f.IntervalRuleFactory(firm=story.firm, code="insurer", structure=story.structure)
    client = as_(facility(story, site=story.structure.site))
    client.get(reverse("rules"))
    given = {**INTERVAL, "code": "insurer", "edition": "own", "structure": story.structure.name}
    with nothing_saved():
        refused = client.post(reverse("rule-propose", args=["interval"]), given)
    assert "This code is taken" in refused.content.decode()


def test_a_new_edition_stands_where_its_rule_stands(story) -> None:
    rule = f.IntervalRuleFactory(firm=story.firm, code="store", site=story.structure.site, months=6)
    url = reverse("rule-new-edition", args=["interval", rule.pk])
    client = as_(story.planner)
    shown = client.get(url)
    assert f"It stands where the rule stands: {rule.site}, {rule.site.client}." in shown.content.decode()
    assert not {"client", "site", "structure"} & set(shown.context["form"].fields)
    elsewhere = f.StructureFactory(site__client__firm=story.firm)
    sent = client.post(url, {**INTERVAL, "edition": "2028", "structure": elsewhere.name})
    assert sent.status_code == 302
    made = IntervalRule.objects.get(edition="2028")
    assert (made.code, made.place) == ("store", rule.place)
    assert [row.pk for row, _ in client.get(sent["Location"]).context["editions"]] == [made.pk, rule.pk]


def test_whoever_stated_a_rule_states_its_next_edition_as_long_as_they_answer_for_its_place(story) -> None:
    owner = story.structure.site.client
    person = facility(story, client=owner)
    client = as_(person)
    client.post(reverse("rule-propose", args=["interval"]), {**INTERVAL, "client": owner.name})
    made = IntervalRule.objects.get(code="store, visual")
    url = reverse("rule-new-edition", args=["interval", made.pk])
    assert client.post(url, {**INTERVAL, "edition": "2028"}).status_code == 302
    assert IntervalRule.objects.get(edition="2028").client == owner
    Scope.objects.filter(membership__person=person).delete()
    f.ScopeFactory(membership=person.memberships.get(), site=story.structure.site, client=None)
    assert "new-edition" not in page(client, "rule", "interval", made.pk)
    assert client.get(url).status_code == 403


def test_the_edition_before_is_of_the_same_place(story, yearly) -> None:
    """Two places had one code before that was refused."""
    theirs = f.IntervalRuleFactory(
        firm=story.firm, code=yearly.code, edition="own", site=f.SiteFactory(client__firm=story.firm)
    )
    f.AdoptionFactory(interval=theirs)
    shown = as_(story.planner).get(reverse("rule", args=["interval", theirs.pk]))
    assert shown.context["before"] is None
    assert [row for row, _ in shown.context["editions"]] == [theirs]


def test_no_link_is_shown_to_somebody_it_would_refuse(story, yearly) -> None:
    text = page(as_(story.planner), "rule", "interval", yearly.pk)
    assert "new-edition" in text
    assert "/end/" not in text and "/dispensation/" not in text
    text = page(as_(story.signatory), "rule", "interval", yearly.pk)
    assert "new-edition" not in text
    assert "/end/" in text and "/dispensation/" in text
