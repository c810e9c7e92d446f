"""The portfolio of two hundred buildings, an event reported and a past day, in Chromium: sizes, schemes, keyboard."""

import re
from collections.abc import Callable, Iterator
from datetime import date

import pytest
import time_machine
from playwright.sync_api import Page, expect

from inspections.models import Event
from sites.models import Role
from tests import factories as make
from tests.inspections.views.places_record import NOON, Record, member, owe, record, with_password

pytestmark = [pytest.mark.django_db(transaction=True)]
MANAGER, AUDITOR = "m@parish.example", "a@office.example"


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=True):
        yield


@pytest.fixture
def known(transactional_db) -> Record:
    known = record()
    for role, email in ((Role.FACILITY, MANAGER), (Role.AUDITOR, AUDITOR)):
        with_password(member(known.firm, role, clients=[known.client], person={"email": email}))
    rule = make.IntervalRuleFactory(firm=known.firm, author_name="Fettlebridge Mutual")
    make.AdoptionFactory(interval=rule, adopted_from=date(2026, 1, 1))
    return known


def sign_in(page: Page, server: str, email: str, heading: str) -> None:
    page.goto(f"{server}/sign-in/")
    page.get_by_label("E-mail").fill(email)
    page.get_by_label("Password").fill(make.PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("heading", name=heading, level=1)).to_be_visible()


def tab_to(page: Page, name: str, role: str = "link", presses: int = 90) -> None:
    wanted = page.get_by_role(role, name=name, exact=True).first  # type: ignore[arg-type]
    for _ in range(presses):
        page.keyboard.press("Tab")
        if wanted.evaluate("element => element === document.activeElement"):
            ring = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
            assert ring == "3px", f"no ring on {name}"
            return
    raise AssertionError(f"{name} is not reached by Tab")


def test_the_managers_pages_hold_at_every_size_and_scheme(
    desk: Page, live_server, known: Record, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, MANAGER, "Buildings")
    pk = known.church.pk
    for address in (
        "/buildings/",
        "/buildings/?state=stopped",
        "/buildings/?text=nowhere",
        f"/structures/{pk}/something-changed/",
        f"/structures/{pk}/wish-dates/",
        f"/structures/{pk}/",
    ):
        answer = desk.goto(live_server.url + address)
        assert answer and answer.status == 200
        expect(desk.get_by_role("heading", level=1)).to_have_count(1)
        holds(desk)


def test_the_auditors_pages_hold_at_every_size_and_scheme(
    desk: Page, live_server, known: Record, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, AUDITOR, "Any past day")
    for address, status in (
        ("/past-day/?day=2027-05-10", 200),
        ("/past-day/?day=2030-01-01", 422),
        (f"/past-day/structures/{known.church.pk}/?day=2027-05-10", 200),
    ):
        answer = desk.goto(live_server.url + address)
        assert answer and answer.status == status
        holds(desk)


def test_two_hundred_buildings_are_walked_by_keyboard(desk: Page, live_server, known: Record) -> None:
    for number in range(200):
        owe(make.StructureFactory(site=known.site, name=f"Cottage {number:03}"), number - 100)
    sign_in(desk, live_server.url, MANAGER, "Buildings")
    expect(desk.get_by_text("202 buildings")).to_be_visible()
    expect(desk.get_by_role("rowheader", name="Cottage 000")).to_have_count(1)
    tab_to(desk, "Next", presses=400)
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(re.compile("page=2"))
    expect(desk.get_by_role("rowheader", name="Cottage 000")).to_have_count(0)
    tab_to(desk, "Building or site", "searchbox")
    desk.keyboard.type("cottage 19")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("rowheader", name=re.compile("^Cottage 19"))).to_have_count(10)


def test_an_event_is_reported_by_keyboard_and_is_born_overdue(desk: Page, live_server, known: Record) -> None:
    sign_in(desk, live_server.url, MANAGER, "Buildings")
    desk.goto(f"{live_server.url}/structures/{known.church.pk}/")
    tab_to(desk, "Something changed…")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Something changed: St Elfrida")).to_be_visible()
    tab_to(desk, "lightning strike", "radio")
    desk.keyboard.press("Space")
    tab_to(desk, "If it was a strike (optional)", "combobox")
    desk.keyboard.type("the str")
    desk.get_by_label("The day it happened").fill("2027-04-01")
    desk.get_by_label("In words").focus()
    desk.keyboard.type("strike counter at the tower went from 3 to 4")
    tab_to(desk, "Report it", "button")
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("so it is overdue from the first day: by 39 days")).to_be_visible()
    assert Event.objects.latest("pk").words.startswith("the counter advanced: strike counter at the tower")


def test_a_past_day_is_asked_for_by_keyboard(desk: Page, live_server, known: Record) -> None:
    sign_in(desk, live_server.url, AUDITOR, "Any past day")
    desk.get_by_label("Day", exact=True).focus()
    desk.get_by_label("Day", exact=True).fill("2027-05-10")
    tab_to(desk, "Show that day", "button")
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(re.compile("day=2027-05-10"))
    table = desk.get_by_role("table", name="Each obligation as it was on that day, and as the record knew it")
    expect(table.get_by_role("rowheader", name="St Elfrida").first).to_be_visible()
    tab_to(desk, "St Elfrida")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="St Elfrida on 10 May 2027", level=1)).to_be_visible()
    expect(
        desk.get_by_role("region", name="What this rests on").get_by_role("listitem").first
    ).to_be_visible()
