"""Whose buttons a visit's page shows in which state: never one that would refuse the person, never two strong ones."""

import re

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from inspections.actions import planning, visits
from inspections.models import Visit, VisitState
from sites.models import Role
from tests import factories as make
from tests.inspections.views.visit_scene import HOUR, NOW, NUMBERS, Scene, cast, scene

pytestmark = pytest.mark.django_db

ACTS = {
    "visit-start": Role.INSPECTOR, "visit-conditions": Role.INSPECTOR, "visit-readings-file": Role.INSPECTOR,
    "visit-no-reading": Role.INSPECTOR, "visit-defect": Role.INSPECTOR, "visit-complete": Role.INSPECTOR,
    "visit-hand-in": Role.INSPECTOR, "visit-approve": Role.REVIEWER, "visit-send-back": Role.REVIEWER,
    "visit-authorise": Role.SIGNATORY,
    "visit-move": Role.PLANNER, "visit-cancel": Role.PLANNER, "visit-take-along": Role.PLANNER,
}  # fmt: skip
STRONG = {
    (VisitState.PLANNED, Role.INSPECTOR): "Begin the visit",
    (VisitState.ON_SITE, Role.INSPECTOR): "Enter readings",
    (VisitState.FIELD_COMPLETE, Role.INSPECTOR): "Hand in, to the reviewing engineer",
    (VisitState.IN_REVIEW, Role.REVIEWER): "Approve, to the signatory",
    (VisitState.APPROVED, Role.SIGNATORY): "Issue the report",
    (VisitState.AMENDING, Role.REVIEWER): "Approve, to the signatory",
}


@pytest.fixture
def here() -> Scene:
    return scene()


def in_state(here: Scene, state: str) -> Visit:
    if state == VisitState.PLANNED:
        return here.planned()
    if state == VisitState.CANCELLED:
        return planning.cancel(here.planned(), reason="client", by=here.people[Role.PLANNER], at=here.at)
    visit = here.on_site()
    if state == VisitState.ON_SITE:
        return visit
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    here.completed(visit)
    if state == VisitState.FIELD_COMPLETE:
        return visit
    if state == VisitState.IN_REVIEW:
        return visits.hand_in(visit, by=here.people[Role.INSPECTOR], at=here.at - HOUR)
    visit = here.reviewed(visit)
    if state in (VisitState.ISSUED, VisitState.AMENDING):
        from reports.actions import authorise, open_amendment

        issue = authorise(visit, by=here.people[Role.SIGNATORY], at=here.at)
        if state == VisitState.AMENDING:
            open_amendment(issue, reason="the wrong limit", by=here.people[Role.SIGNATORY], at=here.at)
            visit.refresh_from_db()
    return visit


def client_of(here: Scene, role: str) -> Client:
    client = Client()
    client.force_login(here.people[role])
    return client


def strong_buttons(html: str) -> list[str]:
    return re.findall(r'<(?:a|button) class="btn btn-primary"[^>]*>([^<]+)<', html)


@time_machine.travel(NOW, tick=False)
@pytest.mark.parametrize("state", VisitState.values)
def test_it_shows_one_strong_button_to_whose_turn_it_is(here: Scene, state: str) -> None:
    visit = in_state(here, state)
    for role in Role.values:
        html = client_of(here, role).get(reverse("visit", args=[visit.pk])).content.decode()
        wanted = STRONG.get((VisitState(state), Role(role)))
        assert strong_buttons(html) == ([wanted] if wanted else []), (state, role)


@time_machine.travel(NOW, tick=False)
@pytest.mark.parametrize("state", VisitState.values)
def test_it_shows_no_form_that_would_refuse_the_person(here: Scene, state: str) -> None:
    visit = in_state(here, state)
    shown: dict[str, set[str]] = {}
    for role in Role.values:
        html = client_of(here, role).get(reverse("visit", args=[visit.pk])).content.decode()
        shown[role] = set(re.findall(r'<form [^>]*method="post" action="([^"]+)"', html)) - {
            reverse("sign-out")
        }
        may_act = (VisitState(state), Role(role)) in STRONG
        may_act |= (state, role) == (
            VisitState.AMENDING,
            Role.INSPECTOR,
        )  # who measured corrects what they said
        may_plan = (state, role) == (VisitState.PLANNED, Role.PLANNER)
        assert bool(shown[role]) == (may_act or may_plan), (role, shown[role])
    for role, addresses in shown.items():
        for address in addresses:
            assert client_of(here, role).post(address).status_code in (302, 422), (role, address)


@time_machine.travel(NOW, tick=False)
@pytest.mark.parametrize("name", ACTS)
def test_it_answers_403_to_who_may_look_but_not_do_this(here: Scene, name: str) -> None:
    visit = here.on_site()
    for role in Role.values:
        answer = client_of(here, role).post(reverse(name, args=[visit.pk]))
        assert (answer.status_code == 403) == (role != ACTS[name]), (role, answer.status_code)
    visit.refresh_from_db()
    assert visit.state == VisitState.ON_SITE


@time_machine.travel(NOW, tick=False)
def test_it_lets_planners_plan_and_nobody_else(here: Scene) -> None:
    for role in Role.values:
        answer = client_of(here, role).get(reverse("plan-visit", args=[here.structure.pk]))
        assert answer.status_code == (200 if role == Role.PLANNER else 403), role


def addresses(here: Scene) -> list[str]:
    issue = here.issued()
    reading = issue.visit.readings.first()
    file = make.ImportedFileFactory(firm=here.firm)
    make.ReadingFactory(visit=issue.visit, point=here.points["2"], file=file, text="6.00")
    visit, point = issue.visit.pk, here.points["2"].pk
    of_visit = [*ACTS, "visit", "visit-report", "visit-readings-sheet"]
    return [
        *(reverse(name, args=[visit]) for name in of_visit),
        reverse("plan-visit", args=[here.structure.pk]), reverse("point", args=[point]),
        reverse("reading", args=[reading.pk]), reverse("import-withdraw", args=[file.pk]),
        *(reverse(name, args=[issue.pk]) for name in ("report", "report-file", "report-make-file")),
    ]  # fmt: skip


@time_machine.travel(NOW, tick=False)
def test_nothing_exists_for_another_firm_or_another_client(here: Scene) -> None:
    elsewhere = scene(name="Another Invented Firm")
    client_beside = make.SiteFactory(client=make.ClientFactory(firm=here.firm))
    beside = cast(here.firm, client_beside)
    strangers = [elsewhere.people[role] for role in Role.values]
    strangers += [beside[role] for role in (Role.INSPECTOR, Role.FACILITY, Role.AUDITOR)]
    for address in addresses(here):
        for stranger in strangers:
            client = Client()
            client.force_login(stranger)
            assert {client.get(address).status_code, client.post(address).status_code} <= {404, 405}, (
                address,
                stranger,
            )
            assert 404 in {client.get(address).status_code, client.post(address).status_code}


@time_machine.travel(NOW, tick=False)
def test_it_lists_nothing_of_another_firm(here: Scene) -> None:
    here.issued()
    elsewhere = scene(name="Another Invented Firm")
    client = client_of(elsewhere, Role.PLANNER)
    for name in ("visits", "reports"):
        assert "Ward Tower East" not in client.get(reverse(name)).content.decode()


def test_it_asks_strangers_to_sign_in(here: Scene) -> None:
    for address in [*addresses(here), reverse("visits"), reverse("reports")]:
        answer = Client().get(address)
        assert answer.status_code in (302, 405), address
        if answer.status_code == 302:
            assert answer["Location"].startswith(reverse("sign-in"))


@time_machine.travel(NOW, tick=False)
def test_a_signatory_without_the_authorisation_reads_why_instead_of_pressing(here: Scene) -> None:
    visit = in_state(here, VisitState.APPROVED)
    here.people[Role.SIGNATORY].authorisations.all().delete()
    client = client_of(here, Role.SIGNATORY)
    html = client.get(reverse("visit", args=[visit.pk])).content.decode()
    assert strong_buttons(html) == []
    assert "holds no authorisation for lightning protection" in html
    answer = client.post(reverse("visit-authorise", args=[visit.pk]))
    assert answer.status_code == 422
    assert "holds no authorisation" in answer.content.decode()


@time_machine.travel(NOW, tick=False)
def test_one_person_in_two_roles_sees_both(here: Scene) -> None:
    person = here.people[Role.INSPECTOR]
    make.MembershipFactory(person=person, firm=here.firm, role=Role.REVIEWER)
    visit = in_state(here, VisitState.IN_REVIEW)
    html = client_of(here, Role.INSPECTOR).get(reverse("visit", args=[visit.pk])).content.decode()
    assert strong_buttons(html) == ["Approve, to the signatory"]
