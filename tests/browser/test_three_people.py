"""Each of the three from sign-in to sign-out, by keyboard alone."""

from collections.abc import Iterator
from datetime import date, timedelta

import pytest
import time_machine
from playwright.sync_api import Page, expect

from inspections.models import Event, Visit
from sites.models import LogHead, Role, SystemKind, VisitKind
from tests import factories as make
from tests.browser.test_owning import tab_to
from tests.inspections.views.places_record import NOON, Record, member, record, with_password

pytestmark = [pytest.mark.django_db(transaction=True)]
PLANNER, MANAGER, AUDITOR = "p@office.example", "m@parish.example", "a@office.example"


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=True):
        yield


@pytest.fixture
def known(transactional_db: None) -> Record:
    known = record()
    with_password(member(known.firm, Role.PLANNER, person={"email": PLANNER}))
    for role, email in ((Role.FACILITY, MANAGER), (Role.AUDITOR, AUDITOR)):
        with_password(member(known.firm, role, clients=[known.client], person={"email": email}))
    LogHead.objects.filter(firm=known.firm).update(visits=1000)  # rows were made past the acts that count
    inspector = make.MembershipFactory(
        firm=known.firm, role=Role.INSPECTOR, person__name="Rowan Underhazel"
    ).person
    make.AuthorisationFactory(
        person=inspector, firm=known.firm, system_kind=SystemKind.LIGHTNING, visit_kind=VisitKind.COMPLETE
    )
    rule = make.IntervalRuleFactory(firm=known.firm, author_name="Fettlebridge Mutual")
    make.AdoptionFactory(interval=rule, adopted_from=date(2026, 1, 1))
    return known


def signed_in_by_keyboard(page: Page, server: str, email: str, heading: str) -> None:
    page.goto(f"{server}/")
    page.get_by_label("E-mail").focus()
    page.keyboard.type(email)
    page.keyboard.press("Tab")
    page.keyboard.type(make.PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=heading, level=1)).to_be_visible()


def signed_out_by_keyboard(page: Page, server: str) -> None:
    tab_to(page, "Sign out", role="button")
    page.keyboard.press("Enter")
    expect(page.get_by_label("E-mail")).to_be_visible()
    page.goto(f"{server}/due/")
    expect(page.get_by_label("E-mail")).to_be_visible()


def to(page: Page, name: str, heading: str) -> None:
    tab_to(page, name, presses=200)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=heading, level=1)).to_be_visible()


def test_a_planner_books_a_visit_from_the_register(desk: Page, live_server, known: Record) -> None:
    signed_in_by_keyboard(desk, live_server.url, PLANNER, "Due")
    to(desk, "Sites", "Sites")
    to(desk, known.church.site.name, known.church.site.name)
    to(desk, known.church.name, known.church.name)
    tab_to(desk, "Plan a visit", presses=200)
    desk.keyboard.press("Enter")
    desk.get_by_label("Kind of visit").focus()
    desk.keyboard.type("complete")
    desk.keyboard.press("Tab")
    desk.keyboard.type("periodic")
    desk.get_by_label("Planned for").fill((NOON + timedelta(days=20)).date().isoformat())
    before = Visit.objects.count()
    tab_to(desk, "Plan the visit", role="button")
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Choose who goes.").first).to_be_visible()  # nobody is chosen for the planner
    expect(desk.get_by_label("Purpose")).to_have_value("periodic")
    assert Visit.objects.count() == before
    desk.get_by_role("checkbox", name="Rowan Underhazel").focus()
    desk.keyboard.press("Space")
    tab_to(desk, "Plan the visit", role="button")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_contain_text("Visit")
    assert Visit.objects.count() == before + 1
    signed_out_by_keyboard(desk, live_server.url)


def test_a_facility_manager_tells_of_a_change(desk: Page, live_server, known: Record) -> None:
    signed_in_by_keyboard(desk, live_server.url, MANAGER, "Buildings")
    to(desk, known.church.name, known.church.name)
    tab_to(desk, "Something changed…", presses=200)
    desk.keyboard.press("Enter")
    tab_to(desk, "lightning strike", "radio")
    desk.keyboard.press("ArrowDown")
    expect(desk.get_by_role("radio", name="alteration", exact=True)).to_be_checked()
    desk.get_by_label("The day it happened").fill((NOON - timedelta(days=3)).date().isoformat())
    desk.get_by_label("In words").focus()
    desk.keyboard.type("a flue through the roof")
    tab_to(desk, "Report it", "button")
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Reported.").first).to_be_visible()
    assert Event.objects.latest("pk").words == "a flue through the roof"
    signed_out_by_keyboard(desk, live_server.url)


def test_an_auditor_replays_a_day_and_reads_the_log(desk: Page, live_server, known: Record) -> None:
    signed_in_by_keyboard(desk, live_server.url, AUDITOR, "Any past day")
    to(desk, "Visits", "Visits")
    to(desk, "Log", "Log")
    tab_to(desk, "Check this chain", "button")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", level=1)).to_be_visible()
    signed_out_by_keyboard(desk, live_server.url)
