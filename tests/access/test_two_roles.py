"""Somebody with a role here and another there is offered at each place only what the role that reaches it allows."""

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from django.urls import reverse

from inspections.actions import due
from sites.models import Person, Role
from tests import factories as make
from tests.access.crawl import Crawl
from tests.access.stage import Stage, filled, undone
from tests.inspections.views.visit_scene import NOW, scene

pytestmark = [pytest.mark.django_db, pytest.mark.either_database]
BOTH = "somebody with a role here and another there"


@dataclass
class Two:
    """The stage, and as much again of another firm. person: of the cast, without a role yet"""

    stage: Stage
    there: Stage
    person: Person

    def give(self, role: str, stage: Stage) -> None:
        member = make.MembershipFactory(person=self.person, firm=stage.firm, role=role)
        if role in (Role.FACILITY, Role.AUDITOR, Role.INSPECTOR):
            make.ScopeFactory(membership=member, client=stage.owner)

    def offered(self, place: Stage) -> None:
        """Follow what the lists and the place's structure offer; nothing may be refused."""
        for begins in (reverse("due"), reverse("structure", args=[place.structure.pk])):
            crawl = Crawl(self.stage, BOTH, begins=begins, pages_at_most=60)
            assert crawl.pages.total() > 20
            assert not crawl.refused, "\n".join(crawl.refused)


@pytest.fixture(scope="module")
def _two(_built) -> Iterator[Two]:
    stage = _built[0]
    with undone():
        other = scene(name="A Third Invented Firm")
        there = filled(Stage(other, stage.here, other.people))
        for place in (stage, there):
            _left_open(place)
        person = make.PersonFactory(name="Both Example")
        stage.people[BOTH] = person
        yield Two(stage, there, person)
        del stage.people[BOTH]


def _left_open(place: Stage) -> None:
    """What asks somebody to act: a structure no visit is planned for, and one that no rule asks about."""
    lodge = make.StructureFactory(site=place.site, name="Porter's lodge", protection_class="III")
    make.TestPointFactory(structure=lodge, part=make.PartFactory(system__structure=lodge, structure=lodge))
    store = make.StructureFactory(site=place.site, name="Garden store")
    due.refresh([lodge.pk, store.pk], at=NOW)


@pytest.fixture
def two(_two: Two, db: None) -> Iterator[Two]:
    _two.stage.sign_in(BOTH)
    yield _two
    del _two.stage.keys[BOTH]


@pytest.mark.parametrize("role", [role for role in Role.values if role != Role.AUDITOR])
def test_an_auditor_of_another_firm_is_offered_nothing_there_that_would_be_refused(
    two: Two, role: str
) -> None:
    two.give(role, two.stage)
    two.give(Role.AUDITOR, two.there)
    two.offered(two.there)


def test_whoever_answers_for_one_client_and_audits_another_is_offered_at_each_what_they_may(two: Two) -> None:
    beside = make.SiteFactory(
        client=make.ClientFactory(firm=two.stage.firm, name="A second client"), name="Beside"
    )
    make.StructureFactory(site=beside, name="Chapel beside")
    manager = make.MembershipFactory(person=two.person, firm=two.stage.firm, role=Role.FACILITY)
    make.ScopeFactory(membership=manager, client=beside.client)
    two.give(Role.AUDITOR, two.stage)
    two.offered(two.stage)


def test_what_may_be_done_stands_only_at_the_places_where_it_may(two: Two) -> None:
    two.give(Role.PLANNER, two.stage)
    two.give(Role.AUDITOR, two.there)
    for address in (reverse("due"), f"{reverse('gaps')}?list=points"):
        shown = two.stage.ask(BOTH, "GET", address).content.decode()
        for place, offered in ((two.stage, True), (two.there, False)):
            lodge = place.site.structures.get(name="Porter's lodge")
            assert reverse("structure", args=[lodge.pk]) in shown
            assert (reverse("plan-visit", args=[lodge.pk]) in shown) == offered
