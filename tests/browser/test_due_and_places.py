"""From signing in to signing out through what is due and the places, in Chromium: sizes, schemes, keyboard, paper."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pdfplumber
import pytest
import time_machine
from playwright.sync_api import Page, expect

from sites.models import Role
from tests import factories as make
from tests.inspections.views.places_record import NOON, Record, member, owe, record, with_password

pytestmark = [pytest.mark.django_db(transaction=True)]
EMAIL = "h.tollgarth@gorsewick.example"


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=True):
        yield


@pytest.fixture
def known(transactional_db) -> Record:
    known = record()
    with_password(member(known.firm, person={"email": EMAIL, "name": "H. Tollgarth"}))
    site = make.SiteFactory(
        client=make.ClientFactory(firm=known.firm, name="Larkmoor Hospitals"),
        name="Larkmoor Infirmary-and-Convalescence in the valley",
    )
    for number, days in enumerate((-88, -6, 0, 12, 300)):
        owe(make.StructureFactory(site=site, name=f"Ward {number}"), days, grace=14 * (days == -6))
    return known


def sign_in(page: Page, server: str) -> None:
    page.goto(f"{server}/sign-in/")
    page.get_by_label("E-mail").fill(EMAIL)
    page.get_by_label("Password").fill(make.PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("heading", name="Due", level=1)).to_be_visible()


def addresses(known: Record) -> list[str]:
    return [
        "/due/",
        "/due/?state=stopped",
        "/due/?text=nowhere",
        "/sites/",
        f"/sites/{known.site.pk}/",
        f"/structures/{known.church.pk}/",
        f"/structures/{known.store.pk}/",
    ]


def test_it_holds_at_every_size_and_scheme(
    desk: Page, live_server, known: Record, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url)
    for address in addresses(known):
        answer = desk.goto(live_server.url + address)
        assert answer and answer.status == 200
        expect(desk.get_by_role("heading", level=1)).to_have_count(1)
        holds(desk)


def test_it_goes_from_sign_in_to_sign_out_by_keyboard_alone(desk: Page, live_server, known: Record) -> None:
    def tab_to(name: str, role: str = "link") -> None:
        wanted = desk.get_by_role(role, name=name, exact=True).first  # type: ignore[arg-type]
        for _ in range(60):
            desk.keyboard.press("Tab")
            if wanted.evaluate("element => element === document.activeElement"):
                ring = desk.evaluate("getComputedStyle(document.activeElement).outlineWidth")
                assert ring == "3px", f"no ring on {name}"
                return
        raise AssertionError(f"{name} is not reached by Tab")

    desk.goto(f"{live_server.url}/sign-in/")
    tab_to("E-mail", "textbox")
    desk.keyboard.type(EMAIL)
    desk.keyboard.press("Tab")
    desk.keyboard.type(make.PASSWORD)
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Due", level=1)).to_be_visible()
    tab_to("Skip to the content")
    desk.keyboard.press("Enter")
    tab_to("State", "combobox")
    desk.keyboard.type("over")
    tab_to("Show", "button")
    desk.keyboard.press("Enter")
    expect(desk).to_have_url(re.compile("state=overdue"))
    expect(desk.get_by_role("rowheader", name="Ward 3")).to_have_count(0)
    tab_to("St Elfrida")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="St Elfrida", level=1)).to_be_visible()
    tab_to("Nether Beck")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Nether Beck", level=1)).to_be_visible()
    tab_to("Sign out", "button")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Sign in")).to_be_visible()
    desk.goto(f"{live_server.url}/due/")
    expect(desk.get_by_role("heading", name="Sign in")).to_be_visible()


def test_it_names_rows_and_tables_for_those_who_do_not_see_them(
    desk: Page, live_server, known: Record
) -> None:
    sign_in(desk, live_server.url)
    table = desk.get_by_role("table", name="Obligations, the most pressing first")
    row = table.get_by_role("row").filter(has=desk.get_by_role("rowheader", name="Ward 0"))
    expect(row.get_by_role("cell", name="88 days overdue")).to_have_count(1)
    expect(row.get_by_role("link", name="Plan a visit to Ward 0")).to_have_count(1)
    expect(desk.get_by_role("list", name="Next", exact=True).get_by_role("listitem")).to_have_count(4)
    desk.goto(f"{live_server.url}/structures/{known.church.pk}/")
    for name in ("Whose rule, and by when", "Points", "History", "Events and suspensions"):
        expect(desk.get_by_role("region", name=name)).to_have_count(1)
    points = desk.get_by_role("table", name="Test points in order of number")
    expect(points.get_by_role("rowheader")).to_have_text(["1", "2", "10", "11", "12A"])


def test_it_leads_from_a_refused_address_back_to_the_start(desk: Page, live_server, known: Record) -> None:
    sign_in(desk, live_server.url)
    foreign = make.StructureFactory()
    answer = desk.goto(f"{live_server.url}/structures/{foreign.pk}/")
    assert answer and answer.status == 404
    expect(desk.get_by_text(foreign.name)).to_have_count(0)
    desk.get_by_role("link", name="what is due").click()
    expect(desk.get_by_role("heading", name="Due", level=1)).to_be_visible()


def test_it_prints_the_structure_whole_and_without_navigation(
    desk: Page, live_server, known: Record, tmp_path: Path
) -> None:
    sign_in(desk, live_server.url)
    desk.goto(f"{live_server.url}/structures/{known.church.pk}/")
    desk.pdf(path=str(tmp_path / "page.pdf"), prefer_css_page_size=True)
    with pdfplumber.open(tmp_path / "page.pdf") as paper:
        text = "\n".join(page.extract_text() for page in paper.pages)
    for expected in ("33 days overdue", "governs: the", "above limit", "3 of 5 points read", "12A"):
        assert expected in text.replace("\N{NO-BREAK SPACE}", " ")
    assert "Sign out" not in text and "Plan a visit" not in text


def test_it_shows_a_scoped_reader_only_their_own(desk: Page, live_server, known: Record) -> None:
    reader = member(known.firm, Role.FACILITY, clients=[known.client], person={"email": "m@parish.example"})
    with_password(reader)
    desk.goto(f"{live_server.url}/sign-in/")
    desk.get_by_label("E-mail").fill("m@parish.example")
    desk.get_by_label("Password").fill(make.PASSWORD)
    desk.get_by_role("button", name="Sign in", exact=True).click()
    expect(desk.get_by_role("heading", name="Buildings", level=1)).to_be_visible()
    desk.goto(f"{live_server.url}/due/")
    expect(desk.get_by_role("rowheader", name="St Elfrida")).to_have_count(3)
    expect(desk.get_by_text("Larkmoor")).to_have_count(0)
    expect(desk.get_by_text("Plan a visit")).to_have_count(0)


def test_on_a_phone_the_six_ways_stand_on_one_line(desk: Page, live_server, known: Record) -> None:
    sign_in(desk, live_server.url)
    ways = desk.get_by_role("navigation", name="Main").get_by_role("link")
    expect(ways).to_have_count(6)
    for width in (390, 360):
        desk.set_viewport_size({"width": width, "height": 844})
        places = [box for way in ways.all() if (box := way.bounding_box())]
        assert len({box["y"] for box in places}) == 1, width
        assert min(min(box["width"], box["height"]) for box in places) >= 24
