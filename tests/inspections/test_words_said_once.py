"""Words on pages that say a thing once: who may be sent, what a part is, how a limit decides."""

from datetime import UTC, date, datetime

import pytest

from inspections.inspectors import inspectors_of
from inspections.part_words import part_facts
from inspections.rule_words import facts_of
from sites.models import Role, Structure, SystemKind, VisitKind
from tests import factories as make

pytestmark = pytest.mark.django_db

AT = datetime(2027, 3, 12, 10, tzinfo=UTC)


@pytest.fixture
def structure() -> Structure:
    return make.SystemFactory(kind=SystemKind.LIGHTNING).structure


def sent(structure: Structure, until: dict[str, date | None]) -> str:
    """The words of the one inspector with these authorisations."""
    firm = structure.site.client.firm
    member = make.MembershipFactory(firm=firm, role=Role.INSPECTOR, person__name="T. Quillfeather")
    for kind, end in until.items():
        make.AuthorisationFactory(person=member.person, firm=firm, visit_kind=kind, until=end)
    ((_, words),) = inspectors_of(structure, AT)
    return words


def test_whoever_is_authorised_for_every_kind_of_visit_is_told_so_in_one(structure: Structure) -> None:
    words = sent(structure, dict.fromkeys(VisitKind.values))
    assert words == "T. Quillfeather; authorised for: every kind of visit"


def test_an_end_that_all_have_is_told_once(structure: Structure) -> None:
    words = sent(structure, dict.fromkeys(VisitKind.values, date(2027, 12, 31)))
    assert words == "T. Quillfeather; authorised for: every kind of visit until 31 Dec 2027"


def test_ends_that_differ_are_told_one_by_one(structure: Structure) -> None:
    words = sent(structure, dict.fromkeys(VisitKind.values) | {VisitKind.VISUAL: date(2027, 12, 31)})
    assert "every kind" not in words and "visual until 31 Dec 2027" in words


def test_a_kind_with_a_comma_in_it_stays_one(structure: Structure) -> None:
    """“attended, no access” is one kind of visit, not two."""
    words = sent(structure, {VisitKind.NO_ACCESS: None, VisitKind.COMPLETE: None})
    assert words == "T. Quillfeather; authorised for: attended, no access; complete"


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("Down-conductor, north", "Down-conductor, north"),
        ("Tape at the north wall", "down-conductor: Tape at the north wall"),
    ],
)
def test_a_parts_kind_is_not_said_before_a_name_that_begins_with_it(name: str, said: str) -> None:
    part = make.PartFactory(name=name, system__name="earthing", system__kind=SystemKind.EARTHING)
    facts = dict(part_facts(part))
    assert (facts["Part"], facts["System"]) == (said, "earthing")


def test_a_system_with_a_name_of_its_own_is_told_with_its_kind() -> None:
    part = make.PartFactory(system__name="Roof mesh", system__kind=SystemKind.LIGHTNING)
    assert dict(part_facts(part))["System"] == "Roof mesh (lightning protection)"


@pytest.mark.parametrize(("decision", "said"), [("guarded", "guarded, guard 1"), ("simple", "simple")])
def test_only_a_guarded_decision_names_its_guard(decision: str, said: str) -> None:
    rule = make.LimitRuleFactory(decision=decision)
    assert said in [fact.words for fact in facts_of(rule) if fact.name == "Decision rule"]
