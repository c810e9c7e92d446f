"""Pages of the register in Chromium: at every size, and a change by keyboard alone."""

from collections.abc import Callable, Iterator
from io import BytesIO

import pypdf
import pytest
import time_machine
from playwright.sync_api import Page, expect

from tests import factories as make
from tests.browser.test_due_and_places import EMAIL, sign_in
from tests.inspections.views.places_record import NOON, Record, member, record, with_password

pytestmark = [pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=True):
        yield


@pytest.fixture
def known(transactional_db) -> Record:
    known = record()
    with_password(member(known.firm, person={"email": EMAIL, "name": "H. Tollgarth"}))
    make.PartFactory(system=known.church.systems.get(), name="Thin tape", section_mm2="25")
    return known


def test_it_holds_at_every_size_and_scheme(
    desk: Page, live_server, known: Record, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url)
    part = known.church.parts.get(name="Thin tape").pk
    for address in (
        "/sites/search/?text=beck", f"/sites/{known.site.pk}/section-questions/",
        f"/structures/{known.church.pk}/parts/", f"/parts/{part}/",
        f"/systems/{known.church.systems.get().pk}/new-part/?kind=bond",
    ):  # fmt: skip
        answer = desk.goto(live_server.url + address)
        assert answer and answer.status == 200, address
        expect(desk.get_by_role("heading", level=1)).to_have_count(1)
        holds(desk)


def test_a_point_is_renumbered_by_keyboard_alone(desk: Page, live_server, known: Record) -> None:
    sign_in(desk, live_server.url)
    point = known.church.points.get(number="2")
    desk.goto(f"{live_server.url}/points/{point.pk}/")

    def tab_to(name: str, role: str = "link") -> None:
        wanted = desk.get_by_role(role, name=name, exact=True).first  # type: ignore[arg-type]
        for _ in range(60):
            desk.keyboard.press("Tab")
            if wanted.evaluate("element => element === document.activeElement"):
                return
        raise AssertionError(f"{name} is not reached by Tab")

    tab_to("Renumber")
    desk.keyboard.press("Enter")
    tab_to("New number", "textbox")
    desk.keyboard.type("2B")
    desk.keyboard.press("Tab")
    desk.keyboard.type("05102027")  # month first, as this browser asks for it
    tab_to("Renumber the point", "button")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("status")).to_contain_text("is now 2B")
    expect(desk.get_by_role("heading", level=1)).to_contain_text("Point 2B")


NOTHING_DRAWN = "rgba(0, 0, 0, 0)"


def paper(page: Page) -> str:
    """What stands on the printed page."""
    printed = pypdf.PdfReader(BytesIO(page.pdf(prefer_css_page_size=True)))
    return " ".join(sheet.extract_text() for sheet in printed.pages)


def test_on_paper_a_form_has_lines_to_write_on_and_keeps_what_is_filled_in(
    desk: Page, live_server, known: Record
) -> None:
    sign_in(desk, live_server.url)
    desk.goto(f"{live_server.url}/structures/{known.church.pk}/change/")
    desk.get_by_label("Name").fill("Church at the beck")
    left_open = paper(desk)
    assert "Church at the beck" in left_open and "Since" in left_open and "yyyy" not in left_open
    desk.get_by_label("Since").fill("2027-03-12")
    desk.keyboard.press("Tab")
    assert "2027" in paper(desk)
    desk.emulate_media(media="print")
    expect(desk.get_by_label("Name")).to_have_css("border-top-style", "none")
    expect(desk.get_by_label("Name")).to_have_css("border-bottom-style", "solid")


def test_on_paper_a_choice_not_made_is_left_open(desk: Page, live_server, known: Record) -> None:
    sign_in(desk, live_server.url)
    desk.goto(f"{live_server.url}/rules/interval/new/")
    choice = desk.get_by_label("Kind of author")
    desk.emulate_media(media="print")
    expect(choice).to_have_css("color", NOTHING_DRAWN)
    choice.select_option("client")
    expect(choice).not_to_have_css("color", NOTHING_DRAWN)
    expect(desk.get_by_label("Risk of explosion")).not_to_have_css("color", NOTHING_DRAWN)  # does not matter


def test_on_paper_a_search_without_an_answer_still_has_its_question(
    desk: Page, live_server, known: Record
) -> None:
    sign_in(desk, live_server.url)
    desk.goto(f"{live_server.url}/sites/search/")
    desk.emulate_media(media="print")
    expect(desk.get_by_label("Name, place or point number")).to_be_visible()
    expect(desk.get_by_role("button", name="Search")).to_be_hidden()


def test_on_the_smallest_phone_the_main_pages_stand_in_one_line(
    desk: Page, live_server, known: Record
) -> None:
    sign_in(desk, live_server.url)
    desk.set_viewport_size({"width": 320, "height": 640})
    desk.goto(f"{live_server.url}/sites/search/")
    links = desk.get_by_role("navigation", name="Main").get_by_role("link").all()
    places = [link.bounding_box() for link in links]
    assert len(places) == 6 and len({place["y"] for place in places if place}) == 1
