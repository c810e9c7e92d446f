"""Sign-in, error pages, tables, forms and states in Chromium: for all readers, widths and schemes."""

from collections.abc import Callable
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from sites.models import Person, Role
from tests.browser.conftest import AT_400, DESK, PHONE
from tests.factories import MembershipFactory

pytestmark = [pytest.mark.django_db(transaction=True)]

EMAIL, PASSWORD = "h.tollgarth@gorsewick.example", "lantern-over-nether-beck"
PAGES = ["/", "/?rows=1&page=2&sort=-structure", "/visits/", "/sites/", "/sites/?theme=dark", "/sites/move/"]


@pytest.fixture(autouse=True)
def _gallery(settings) -> None:
    settings.ROOT_URLCONF = "tests.sites.gallery"
    templates = Path(__file__).parents[1] / "sites" / "templates"
    settings.TEMPLATES = [{**settings.TEMPLATES[0], "DIRS": [templates]}]


@pytest.fixture
def person() -> Person:
    person = Person(email=EMAIL, name="H. Tollgarth", recorded_at=timezone.now())
    person.set_password(PASSWORD)
    person.save()
    MembershipFactory(person=person, role=Role.PLANNER)
    return person


def sign_in(page: Page, server: str) -> None:
    page.goto(f"{server}/sign-in/")
    page.get_by_label("E-mail").fill(EMAIL)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("navigation", name="Main")).to_be_visible()


def test_it_signs_in_and_out_by_keyboard_alone(desk: Page, live_server, person: Person) -> None:
    desk.goto(f"{live_server.url}/sign-in/")
    desk.keyboard.press("Tab")
    expect(desk.get_by_role("link", name="Skip to the content")).to_be_focused()
    desk.get_by_label("E-mail").focus()
    desk.keyboard.type(EMAIL)
    desk.keyboard.press("Tab")
    desk.keyboard.type(PASSWORD)
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Due", exact=True)).to_be_visible()
    desk.get_by_role("button", name="Sign out").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Sign in")).to_be_visible()


def test_it_shows_the_sign_in_page_before_and_after_a_fault(
    desk: Page, live_server, person: Person, holds: Callable[[Page], None]
) -> None:
    desk.goto(f"{live_server.url}/sign-in/")
    holds(desk)
    desk.get_by_label("E-mail").fill(EMAIL)
    desk.get_by_label("Password").fill("wrong")
    desk.get_by_role("button", name="Sign in", exact=True).click()
    expect(desk.get_by_label("Password")).to_have_accessible_description(
        "That e-mail and password do not belong together. Nothing was changed."
    )
    holds(desk)


@pytest.mark.parametrize("kind", ["400", "403", "404", "413", "500"])
def test_it_shows_error_pages(desk: Page, live_server, kind: str, holds: Callable[[Page], None]) -> None:
    answer = desk.goto(f"{live_server.url}/error/{kind}/" if kind != "404" else f"{live_server.url}/nowhere/")
    assert answer and answer.status == int(kind)
    expect(desk.get_by_role("heading", name="What to do next")).to_be_visible()
    holds(desk)


def test_it_shows_each_kind_of_page(
    desk: Page, live_server, person: Person, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url)
    for address in PAGES:
        desk.goto(live_server.url + address)
        expect(desk.get_by_role("heading", level=1)).to_be_visible()
        holds(desk)
    desk.get_by_role("button", name="Move the visit").click()
    expect(desk.get_by_role("alert")).to_be_visible()
    holds(desk)


def test_it_draws_every_shape(desk: Page, live_server, person: Person) -> None:
    sign_in(desk, live_server.url)
    desk.goto(f"{live_server.url}/sites/")
    blank = desk.evaluate(
        """Array.from(document.querySelectorAll("svg.shape use"))
        .filter(use => !use.getBBox().width).map(use => use.getAttribute("href"))"""
    )
    assert blank == []
    assert desk.locator("svg.shape").count() > 30


def test_it_keeps_every_stop_of_the_keyboard_in_sight(desk: Page, live_server, person: Person) -> None:
    sign_in(desk, live_server.url)
    for width, height in (DESK, AT_400):
        desk.set_viewport_size({"width": width, "height": height})
        desk.goto(f"{live_server.url}/?rows=1&page=2")
        desk.evaluate("document.activeElement.blur()")
        stops = desk.locator("a, button, input, select").count()
        for _ in range(stops):
            desk.keyboard.press("Tab")
            wide, high, ring = desk.evaluate(
                """(() => { const e = document.activeElement, b = e.getBoundingClientRect();
                return [b.width, b.height, getComputedStyle(e).outlineWidth]; })()"""
            )
            assert wide > 8 and high >= 20, desk.evaluate("document.activeElement.outerHTML")
            assert ring == "3px", desk.evaluate("document.activeElement.outerHTML")


def test_on_a_phone_what_is_pressed_fits_a_glove(desk: Page, live_server, person: Person) -> None:
    sign_in(desk, live_server.url)
    desk.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    desk.goto(f"{live_server.url}/sites/move/")
    pressed = desk.locator(".btn, .form-control, .form-select, fieldset .choice label")
    heights = [box["height"] for one in pressed.all() if (box := one.bounding_box())]
    assert len(heights) >= 6
    assert min(heights) >= 43.5


def test_a_state_in_order_is_green_and_takes_no_room_below(desk: Page, live_server, person: Person) -> None:
    sign_in(desk, live_server.url)
    desk.goto(f"{live_server.url}/sites/")
    look = desk.locator(".state.order").first.evaluate(
        "e => [getComputedStyle(e).color, getComputedStyle(e).marginBottom]"
    )
    assert look == ["rgb(23, 102, 90)", "0px"]  # --verdigris


def test_signing_in_prints_on_one_sheet(desk: Page, live_server) -> None:
    desk.goto(f"{live_server.url}/sign-in/")
    assert desk.pdf(prefer_css_page_size=True).count(b"/Type /Page\n") == 1


def test_paper_leaves_out_what_is_closed_and_what_is_pressed(desk: Page, live_server, person: Person) -> None:
    sign_in(desk, live_server.url)
    desk.goto(f"{live_server.url}/sites/move/")
    desk.locator("main").evaluate(
        "main => main.insertAdjacentHTML('beforeend', '<details><summary>Closed</summary>unread</details>'"
        " + '<details open><summary>Open</summary>read</details>')"
    )
    desk.emulate_media(media="print")
    expect(desk.get_by_text("Open", exact=True)).to_be_visible()
    expect(desk.get_by_text("Closed", exact=True)).to_be_hidden()
    expect(desk.locator(".acts").first).to_be_hidden()
