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
