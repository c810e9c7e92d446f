"""Moving a visit by keyboard, the planning page at four sizes, and a calendar fetched over HTTP, in Chromium."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from urllib.request import urlopen

import pytest
import time_machine
from django.db import transaction
from icalendar import Calendar
from playwright.sync_api import Page, expect

from inspections.actions import due
from inspections.models import Visit
from sites.models import Role
from tests import factories as make
from tests.inspections.views.places_record import owe
from tests.inspections.views.visit_scene import NOW, Scene, scene

pytestmark = [pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def _now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=True):
        yield


@pytest.fixture
def here(transactional_db) -> Scene:
    here = scene()
    with transaction.atomic():
        due.refresh([here.structure.pk], at=NOW)
    for n in range(24):
        place = make.StructureFactory(site=here.site, name=f"Ward {n}")
        make.SystemFactory(structure=place)
        owe(place, 40 + 19 * (n % 9), rule__early_days=45, rule__firm=here.firm)
    return here


def sign_in(page: Page, server: str, here: Scene, role: str = Role.PLANNER) -> None:
    page.goto(f"{server}/sign-in/")
    page.get_by_label("E-mail").fill(here.people[role].email)
    page.get_by_label("Password").fill(make.PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


def test_it_holds_at_every_size_and_scheme(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    visit = here.planned(at=NOW)
    sign_in(desk, live_server.url, here)
    for address in ("/planning/", "/planning/weeks/2027-06-07/", "/due/year/", f"/visits/{visit.pk}/"):
        answer = desk.goto(live_server.url + address)
        assert answer and answer.status == 200, address
        expect(desk.get_by_role("heading", level=1)).to_have_count(1)
        holds(desk)


def test_a_visit_is_moved_by_keyboard_alone(desk: Page, live_server, here: Scene) -> None:
    visit = here.planned(at=NOW)
    sign_in(desk, live_server.url, here)
    desk.goto(f"{live_server.url}/visits/{visit.pk}/")
    summary = desk.locator("summary", has_text="Move the visit to another day")
    for _ in range(80):
        desk.keyboard.press("Tab")
        if summary.evaluate("element => element === document.activeElement"):
            break
    desk.keyboard.press("Enter")
    desk.keyboard.press("Tab")
    day = visit.planned_on + timedelta(days=14)
    desk.keyboard.type(f"{day:%m%d%Y}")  # the order of the browser's own language
    reason = desk.locator("#id_move-reason")
    for _ in range(6):
        desk.keyboard.press("Tab")
        if reason.evaluate("element => element === document.activeElement"):
            break
    desk.keyboard.type("weather")
    desk.keyboard.press("Tab")
    desk.keyboard.type("gale warning for the roof")
    desk.keyboard.press("Tab")
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("What is due stays due as it was.").first).to_be_visible()
    expect(desk.get_by_text("weather: gale warning for the roof")).to_be_visible()
    assert Visit.objects.get(pk=visit.pk).planned_on == day


def test_a_calendar_is_made_and_read_back_over_http(desk: Page, live_server, here: Scene, settings) -> None:
    settings.PUBLIC_URL = live_server.url
    visit = here.planned(at=NOW)
    sign_in(desk, live_server.url, here)
    desk.goto(f"{live_server.url}/due/")
    desk.get_by_role("link", name="Visits and due days in your own calendar").click()
    desk.get_by_label("Calendar of").select_option(label=f"{here.site.name}, {here.site.client.name}")
    desk.get_by_role("button", name="Make the calendar").press("Enter")
    address = desk.locator("code.secret").inner_text()
    with urlopen(address) as answer:  # noqa: S310 - our own server
        events = Calendar.from_ical(answer.read()).walk("VEVENT")
    planned = [event for event in events if str(event["UID"]).startswith("visit-")]
    assert [event.decoded("DTSTART") for event in planned] == [visit.planned_on]
    desk.get_by_role("button", name=f"Take back {here.site.name}").press("Enter")
    expect(desk.get_by_text("Its address answers no longer.")).to_be_visible()
    answered = desk.request.get(address)
    assert answered.status == 404
