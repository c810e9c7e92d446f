"""Two roles at one firm: what one of them may do ends where its own scopes do, whatever the other shows."""

from dataclasses import dataclass

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse

from inspections.models import Event, IntervalRule, Wish
from sites.models import Document, Membership, Person, Role, Structure, VisitKind
from tests import factories as make
from tests.inspections.views.places_record import NOON, owe
from tests.inspections.views.test_rules import INTERVAL
from tests.inspections.views.visit_scene import Scene, scene

pytestmark = pytest.mark.django_db
ACTS = ("wish-dates", "report-event")


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False):
        yield


@dataclass
class Two:
    """own: a structure that the person's role answers for; seen: another client's, looked at as an auditor"""

    person: Person
    browser: Browser
    own: Structure
    seen: Structure


def two_roles(role: str, own: Structure) -> Two:
    firm = own.site.client.firm
    person = make.PersonFactory()
    seen = make.StructureFactory(site__client__firm=firm, name="Looked at")
    member = make.MembershipFactory(person=person, firm=firm, role=role)
    make.ScopeFactory(membership=member, client=None, site=own.site)
    grant = make.MembershipFactory(person=person, firm=firm, role=Role.AUDITOR, until=NOON.date())
    make.ScopeFactory(membership=grant, client=seen.site.client)
    browser = Browser()
    browser.force_login(person)
    return Two(person, browser, own, seen)


@pytest.fixture
def manager() -> Two:
    return two_roles(Role.FACILITY, make.StructureFactory(name="Answered for"))


@pytest.mark.parametrize("name", ACTS)
def test_a_manager_of_one_site_does_nothing_at_another_that_they_only_look_at(manager, name) -> None:
    for place, status in ((manager.own, 200), (manager.seen, 403)):
        assert manager.browser.get(reverse(name, args=[place.pk])).status_code == status
        page = manager.browser.get(reverse("structure", args=[place.pk]))
        assert (reverse(name, args=[place.pk]) in page.content.decode()) == (status == 200)
    told = {"from_day": "2027-06-01", "until_day": "2027-06-03", "words": "", "kind": "strike", "on": "2027-05-16",
            "reported_by": "nobody"}  # fmt: skip
    assert manager.browser.post(reverse(name, args=[manager.seen.pk]), told).status_code == 403
    assert not Wish.objects.exists() and not Event.objects.exists()


def test_they_bring_no_document_there(manager) -> None:
    document = make.RevisionFactory(document__structure=manager.seen).document
    for place, status in ((manager.own, 200), (manager.seen, 403)):
        address = reverse("document-add", args=[place.site_id])
        assert manager.browser.get(address).status_code == status
        page = manager.browser.get(reverse("site", args=[place.site_id])).content.decode()
        assert (address in page) == (status == 200)
    revise = reverse("document-revise", args=[document.pk])
    assert manager.browser.get(revise).status_code == 403
    assert revise not in manager.browser.get(reverse("document", args=[document.pk])).content.decode()
    assert Document.objects.count() == 1


def test_the_list_of_buildings_offers_them_only_what_they_may(manager) -> None:
    for place in (manager.own, manager.seen):
        owe(place, -10)
    page = manager.browser.get(reverse("buildings")).content.decode()
    assert "Looked at" in page
    for name in ACTS:
        assert reverse(name, args=[manager.own.pk]) in page
        assert reverse(name, args=[manager.seen.pk]) not in page


@pytest.mark.parametrize("named", ["structure", "client"])
def test_they_state_no_rule_of_their_own_there(manager, named) -> None:
    place = {"structure": manager.seen.name, "client": manager.seen.site.client.name}
    told = {**INTERVAL, named: place[named]}
    answer = manager.browser.post(reverse("rule-propose", args=["interval"]), told)
    assert answer.status_code == 422
    assert not IntervalRule.objects.filter(code=INTERVAL["code"]).exists()


def test_an_inspector_enters_nothing_at_visits_that_they_only_look_at() -> None:
    here: Scene = scene(NOON)
    inspector = two_roles(Role.INSPECTOR, make.StructureFactory(site__client__firm=here.firm))
    grant = Membership.objects.get(person=inspector.person, role=Role.AUDITOR)
    make.ScopeFactory(membership=grant, client=here.site.client)
    visit = here.on_site(kind=VisitKind.COMPLETE)
    page = inspector.browser.get(reverse("visit", args=[visit.pk]))
    assert page.status_code == 200
    conditions = reverse("visit-conditions", args=[visit.pk])
    assert conditions not in page.content.decode()
    assert inspector.browser.post(conditions, {"weather": "dry"}).status_code == 403
    visit.refresh_from_db()
    assert visit.weather == ""
