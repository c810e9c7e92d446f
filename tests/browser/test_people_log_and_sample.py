"""People, the log and the audit sample in Chromium: sizes, schemes, keyboard."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import pytest
import time_machine
from django.db import transaction
from playwright.sync_api import Page, expect

from sites import log
from sites.actions import people as acts
from sites.models import Firm, LogEntry, Person, Role
from tests import factories as make
from tests.inspections.views.places_record import member, record, with_password

pytestmark = [pytest.mark.django_db(transaction=True)]
NOW = datetime(2027, 5, 17, 12, 0, tzinfo=UTC)
QUALITY, AUDITOR = "q.manager@gorsewick.example", "a.uditor@gorsewick.example"


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOW, tick=True):
        yield


@dataclass
class Known:
    firm: Firm
    inspector: Person
    entry: LogEntry
    hidden: LogEntry


@pytest.fixture
def known(transactional_db) -> Known:
    with transaction.atomic():
        return _known()


def _known() -> Known:
    told = record()
    firm = told.firm
    quality = with_password(member(firm, Role.QUALITY, person={"email": QUALITY, "name": "Q. Manager"}))
    with_password(
        member(firm, Role.AUDITOR, clients=[told.client], person={"email": AUDITOR, "name": "A. Uditor"})
    )
    inspector = member(firm, Role.INSPECTOR, clients=[told.client], person={"name": "R. Underhazel"})
    since = NOW.date()
    for kind in ("visual", "complete", "electrical"):
        acts.create_authorisation(
            inspector, firm=firm, system_kind="lightning protection", visit_kind=kind, since=since,
            until=since.replace(year=2028), by=quality, at=NOW,
        )  # fmt: skip
    entry = log.record(
        firm,
        "structure created",
        told.church,
        by=quality,
        at=NOW,
        facts={"name": "St Elfrida", "use": "church"},
    )
    hidden = log.record(firm, "client created", make.ClientFactory(firm=firm), by=quality, at=NOW)
    return Known(firm, inspector, entry, hidden)


def sign_in(page: Page, server: str, email: str) -> None:
    page.goto(f"{server}/sign-in/")
    page.get_by_label("E-mail").fill(email)
    page.get_by_label("Password").fill(make.PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


def test_people_hold_at_every_size(
    desk: Page, live_server, known: Known, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, QUALITY)
    for address in ("/people/?text=nobody", f"/people/{known.inspector.pk}/"):
        desk.goto(f"{live_server.url}{address}")
        holds(desk)
    desk.goto(f"{live_server.url}/people/invite/")
    desk.get_by_role("button", name="Invite", exact=True).click()
    expect(desk.get_by_role("alert")).to_be_visible()
    holds(desk)


def test_the_log_holds_at_every_size(
    desk: Page, live_server, known: Known, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, AUDITOR)
    for address in ("/log/", "/log/?what=nothing", f"/log/{known.hidden.pk}/"):
        desk.goto(f"{live_server.url}{address}")
        holds(desk)
    desk.goto(f"{live_server.url}/log/")
    desk.get_by_role("button", name="Check this chain").click()
    expect(desk.get_by_role("heading", name="The chain is whole", level=1)).to_be_visible()
    holds(desk)


def test_a_role_is_given_and_ended_by_keyboard(desk: Page, live_server, known: Known) -> None:
    sign_in(desk, live_server.url, QUALITY)
    desk.goto(f"{live_server.url}/people/")
    desk.get_by_role("link", name="R. Underhazel").focus()
    desk.keyboard.press("Enter")
    desk.get_by_role("link", name="Give a role").focus()
    desk.keyboard.press("Enter")
    desk.get_by_label("Role").focus()
    desk.keyboard.type("reviewing")
    desk.get_by_role("button", name="Give the role").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("The role is entered.")).to_be_visible()
    desk.get_by_role("link", name="End the role reviewing engineer").focus()
    desk.keyboard.press("Enter")
    desk.get_by_role("button", name="End the role").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("The role has its last day.")).to_be_visible()
    expect(desk.get_by_text("Membership ended")).to_be_visible()


def test_a_list_comes_down_as_a_file(desk: Page, live_server, known: Known) -> None:
    sign_in(desk, live_server.url, QUALITY)
    for address, name in (
        ("/people/", "people"),
        ("/log/", "log-of-"),
        ("/due/", "due"),
        ("/sites/", "sites"),
    ):
        desk.goto(f"{live_server.url}{address}")
        for kind, ending in (("CSV", "csv"), ("Workbook", "xlsx")):
            with desk.expect_download() as found:
                desk.locator(".files").get_by_role("link", name=kind).click()
            assert found.value.suggested_filename.startswith(name)
            assert found.value.suggested_filename.endswith(f"-2027-05-17.{ending}")


def test_a_sample_is_drawn_by_keyboard_and_holds(
    desk: Page, live_server, known: Known, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, AUDITOR)
    desk.goto(f"{live_server.url}/audit-sample/")
    holds(desk)
    desk.get_by_label("How many").fill("0")
    desk.get_by_role("button", name="Draw the sample").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("alert")).to_be_visible()
    holds(desk)
    desk.get_by_label("How many").fill("3")
    desk.get_by_label("Draw from").select_option(label="test points")
    desk.get_by_label("Seed").fill("two dice: 5, 2")
    desk.get_by_role("button", name="Draw the sample").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="3 of 5 points", level=1)).to_be_visible()
    expect(desk.get_by_text("the same lines come out")).to_be_visible()
    holds(desk)
    desk.goto(f"{live_server.url}/audit-sample/")
    expect(desk.get_by_text("two dice: 5, 2")).to_be_visible()
