"""The visit's page: moving, cancelling, what goes along, and what was booked all the same."""

from datetime import date, timedelta
from html import unescape

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from inspections.actions import planning
from inspections.models import VisitState
from sites.models import Role
from tests import factories as make
from tests.counting import nothing_saved
from tests.inspections.views.visit_scene import NOW, Scene, scene

pytestmark = pytest.mark.django_db
DAY = NOW.date() + timedelta(days=10)


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def here() -> Scene:
    return scene()


def planner(here: Scene) -> Client:
    """The planner, signed in once."""
    if "planner" not in here.clients:
        here.clients["planner"] = Client()
        here.clients["planner"].force_login(here.people[Role.PLANNER])
    return here.clients["planner"]


def send(here: Scene, name: str, visit, **told):
    return planner(here).post(reverse(name, args=[visit.pk]), told)


def words(answer) -> str:
    return " ".join(unescape(answer.content.decode()).split())


def test_it_moves_and_shows_the_days_it_was_moved_from(here: Scene) -> None:
    visit = here.planned()
    told = {"move-planned_on": DAY.isoformat(), "move-reason": "weather", "move-words": "gale warning"}
    answer = send(here, "visit-move", visit, **told)
    assert answer.status_code == 302
    html = words(planner(here).get(answer["Location"]))
    assert "moved 1 time" in html and "weather: gale warning" in html
    assert "What is due stays due as it was." in html


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({}, "Give the new day."),
        ({"move-planned_on": "03/12/2027", "move-reason": "client"}, "is not a day"),
        ({"move-planned_on": DAY.isoformat()}, "Choose the reason."),
        ({"move-planned_on": DAY.isoformat(), "move-reason": "other"}, "Say what the other reason is."),
        ({"move-planned_on": "2027-05-01", "move-reason": "client"}, "has gone by at the site"),
    ],
)
def test_it_says_what_is_wrong_and_keeps_what_was_typed(here: Scene, told: dict, says: str) -> None:
    visit = here.planned()
    planner(here)
    with nothing_saved():
        answer = send(here, "visit-move", visit, **told)
    assert answer.status_code == 422
    html = words(answer)
    assert says in html
    if told.get("move-planned_on"):
        assert told["move-planned_on"] in html


def test_what_does_not_fit_is_asked_about_then_booked_and_told_to_the_reviewer(here: Scene) -> None:
    visit = here.planned()
    planning.take_along(visit, instruments=[here.instrument], by=here.people[Role.PLANNER], at=NOW)
    late = NOW.date() + timedelta(days=201)
    told = {"move-planned_on": late.isoformat(), "move-reason": "client"}
    planner(here)
    with nothing_saved():
        asked = send(here, "visit-move", visit, **told)
    assert asked.status_code == 422
    assert "is not in calibration on 20 Nov 2027" in words(asked)
    assert "Why it is booked all the same" in words(asked)
    assert "Why it is booked all the same" not in words(planner(here).get(reverse("visit", args=[visit.pk])))
    told["move-anyway"] = "it is calibrated in October"
    assert send(here, "visit-move", visit, **told).status_code == 302
    reviewer = Client()
    reviewer.force_login(here.people[Role.REVIEWER])
    html = words(reviewer.get(reverse("visit", args=[visit.pk])))
    assert "Booked although something did not fit the day" in html
    assert "because: it is calibrated in October" in html


def test_a_day_that_fits_again_leaves_no_warning(here: Scene) -> None:
    visit = here.planned()
    by = here.people[Role.PLANNER]
    planning.take_along(visit, instruments=[here.instrument], by=by, at=NOW)
    planning.move(
        visit, planned_on=date(2028, 1, 1), reason="client", by=by, at=NOW, anyway="calibrated later"
    )
    planning.move(visit, planned_on=DAY, reason="client", by=by, at=NOW + timedelta(minutes=1))
    assert "Booked although" not in words(planner(here).get(reverse("visit", args=[visit.pk])))


def test_planning_asks_why_where_an_instrument_does_not_fit(here: Scene) -> None:
    address = reverse("plan-visit", args=[here.structure.pk])
    old = make.InstrumentFactory(firm=here.firm, serial="0815")
    foreign = make.InstrumentFactory(serial="foreign")
    told = {
        "kind": "complete", "purpose": "periodic", "planned_on": DAY.isoformat(),
        "inspectors": [here.people[Role.INSPECTOR].pk], "instruments": [old.pk],
    }  # fmt: skip
    page = words(planner(here).get(address))
    assert "0815; no calibration recorded" in page and "foreign" not in page
    with nothing_saved():
        assert planner(here).post(address, {**told, "instruments": [foreign.pk]}).status_code == 422
        refused = planner(here).post(address, told)
    assert refused.status_code == 422 and "no calibration of it is recorded" in words(refused)
    told["anyway"] = "calibration is booked for tomorrow"
    assert planner(here).post(address, told).status_code == 302


def test_it_cancels_with_a_reason_and_offers_no_more_acts(here: Scene) -> None:
    visit = here.planned()
    planner(here)
    with nothing_saved():
        assert send(here, "visit-cancel", visit).status_code == 422
    assert send(here, "visit-cancel", visit, **{"cancel-reason": "permit"}).status_code == 302
    visit.refresh_from_db()
    assert visit.state == VisitState.CANCELLED
    html = words(planner(here).get(reverse("visit", args=[visit.pk])))
    assert "Cancelled before it began" in html and "Move the visit" not in html
    history = words(planner(here).get(reverse("structure", args=[here.structure.pk])))
    assert "Cancelled before it began" in history and "Open visit of" not in history


# From planning -----------------------------------------------------------------------------------------------------


def from_planning(here: Scene, name: str, visit, **told):
    return planner(here).post(f"{reverse(name, args=[visit.pk])}?then=planning", told)


def test_planning_leads_to_the_plan_and_an_act_leads_back(here: Scene) -> None:
    visit = here.planned()
    page = words(planner(here).get(reverse("planning")))
    assert reverse("visit-change-plan", args=[visit.pk]) in page and "Visits planned" in page
    plan = words(planner(here).get(reverse("visit-change-plan", args=[visit.pk])))
    assert f"{reverse('visit-move', args=[visit.pk])}?then=planning" in plan
    told = {"move-planned_on": DAY.isoformat(), "move-reason": "permit"}
    answer = from_planning(here, "visit-move", visit, **told)
    assert answer["Location"] == reverse("planning")
    told = {"cancel-reason": "client", "cancel-words": "site closed"}
    assert from_planning(here, "visit-cancel", visit, **told)["Location"] == reverse("planning")
    visit.refresh_from_db()
    assert (visit.planned_on, visit.state) == (DAY, VisitState.CANCELLED)
    closed = words(planner(here).get(reverse("visit-change-plan", args=[visit.pk])))
    assert "only until the visit begins" in closed and "<form" not in closed.partition("<main")[2]


def test_what_came_back_from_planning_keeps_what_was_typed_and_changes_nothing(here: Scene) -> None:
    visit = here.planned()
    planner(here)
    with nothing_saved():
        answer = from_planning(here, "visit-move", visit, **{"move-reason": "other", "move-words": ""})
    said = words(answer)
    assert answer.status_code == 422 and "Plan of visit" in said
    assert "Give the new day." in said and "Say what the other reason is." in said


def test_who_goes_is_chosen_anew_with_a_reason_and_stands_in_the_plan(here: Scene) -> None:
    visit = here.planned()
    going = visit.inspectors.get().person
    other = make.MembershipFactory(firm=here.firm, role=Role.INSPECTOR, person__name="Wanda Nettle").person
    for system in visit.structure.systems.all():
        make.AuthorisationFactory(
            person=other, firm=here.firm, system_kind=system.kind, visit_kind=visit.kind
        )
    planner(here)
    with nothing_saved():
        refused = from_planning(here, "visit-assign", visit, **{"assign-inspectors": [other.pk]})
    assert refused.status_code == 422 and "Choose the reason." in words(refused)
    told = {"assign-inspectors": [other.pk], "assign-reason": "staff", "assign-words": "ill"}
    assert from_planning(here, "visit-assign", visit, **told).status_code == 302
    page = words(planner(here).get(reverse("visit", args=[visit.pk])))
    assert f'Who goes: Wanda Nettle<br><span class="when">was {going.name}' in page and "staff: ill" in page
    booked = words(planner(here).get(reverse("planning")))
    assert "Wanda Nettle" in booked


def test_the_office_without_a_planner_sees_the_list_and_no_way_to_change(here: Scene) -> None:
    visit = here.planned()
    quality = Client()
    quality.force_login(make.MembershipFactory(firm=here.firm, role=Role.QUALITY).person)
    assert reverse("visit-change-plan", args=[visit.pk]) not in words(quality.get(reverse("planning")))
    assert quality.get(reverse("visit-change-plan", args=[visit.pk])).status_code == 403


def test_the_same_plan_sent_twice_is_kept_once(here: Scene) -> None:
    """As after going back in the browser; another kind on that day is another visit."""
    address = reverse("plan-visit", args=[here.structure.pk])
    told = {"kind": "complete", "purpose": "periodic", "planned_on": DAY.isoformat(),
            "inspectors": [here.people[Role.INSPECTOR].pk]}  # fmt: skip
    assert planner(here).post(address, told).status_code == 302
    with nothing_saved():
        answer = planner(here).post(address, told)
    assert answer.status_code == 422 and "planned for that day already" in words(answer)
    assert planner(here).post(address, told | {"kind": "visual"}).status_code == 302
