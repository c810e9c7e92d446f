"""What takes longer than a second is said, a form is not sent twice, and coming back finds the page at rest."""

import time
from collections.abc import Iterator

import pytest
import time_machine
from playwright.sync_api import Page, Route, expect

from sites.models import Role
from tests.browser.test_owning import sign_in
from tests.inspections.views.places_record import NOON, Record, member, record, with_password

pytestmark = [pytest.mark.django_db(transaction=True)]
PLANNER = "p@office.example"


# What the page says while it waits, noted where the next page can read it.
NOTE = """new MutationObserver(() => {
  sessionStorage.said = document.getElementById("busy").textContent;
  sessionStorage.pressed = document.querySelector("form[aria-busy] button").disabled ? "disabled" : "open";
}).observe(document.getElementById("busy"), {childList: true})"""


def slowly(route: Route) -> None:
    time.sleep(2)
    route.continue_()


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=True):
        yield


@pytest.fixture
def known(transactional_db: None) -> Record:
    known = record()
    with_password(member(known.firm, Role.PLANNER, person={"email": PLANNER}))
    return known


def test_it_says_so_while_a_form_is_worked_on_and_takes_no_second_press(
    desk: Page, live_server, known: Record
) -> None:
    sign_in(desk, live_server.url, PLANNER, "Due")
    desk.goto(f"{live_server.url}/instruments/add/")
    desk.evaluate(NOTE)
    desk.route("**/instruments/add/", slowly)
    desk.get_by_role("button", name="Add it").click()
    expect(desk.get_by_text("Fill this in.").first).to_be_visible()  # answered, and at rest again
    said, pressed = desk.evaluate("[sessionStorage.said, sessionStorage.pressed]")
    assert said.startswith("Being worked on")
    assert pressed == "disabled"
    expect(desk.locator("#busy")).to_have_text("")
    expect(desk.get_by_role("button", name="Add it")).to_be_enabled()


def test_it_says_nothing_of_what_is_quick_and_says_when_a_file_is_being_made(
    desk: Page, live_server, known: Record
) -> None:
    sign_in(desk, live_server.url, PLANNER, "Due")
    desk.goto(f"{live_server.url}/sites/")
    held: list[Route] = []
    desk.route("**/sites/?as=csv*", lambda route: held.append(route))
    desk.get_by_role("link", name="CSV").first.click(no_wait_after=True)
    expect(desk.locator("#busy")).to_have_text("")
    expect(desk.locator("#busy")).to_contain_text("The file is being made")
    for route in held:
        route.abort()


def test_it_says_when_a_page_takes_long_and_nothing_of_a_place_on_the_same_page(
    desk: Page, live_server, known: Record
) -> None:
    sign_in(desk, live_server.url, PLANNER, "Due")
    note = """new MutationObserver(() => {
      sessionStorage.said = document.getElementById("busy").textContent;
    }).observe(document.getElementById("busy"), {childList: true})"""
    desk.evaluate(note)
    desk.route("**/planning/", slowly)
    desk.get_by_role("link", name="Planning", exact=True).click()
    expect(desk.get_by_role("heading", name="Planning", level=1)).to_be_visible()
    assert desk.evaluate("sessionStorage.said") == "The page is being made. It appears by itself."
    expect(desk.locator("#busy")).to_have_text("")
    desk.evaluate("document.body.insertAdjacentHTML('beforeend', '<a href=\"#busy\">down there</a>')")
    desk.get_by_role("link", name="down there").click()
    desk.wait_for_timeout(1500)
    expect(desk.locator("#busy")).to_have_text("")


def test_every_page_works_without_it(browser, live_server, known: Record) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{live_server.url}/sign-in/")
    page.get_by_label("E-mail").fill(PLANNER)
    page.get_by_label("Password").fill("copper-braid-on-the-roof")
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("heading", name="Due", level=1)).to_be_visible()
    page.goto(f"{live_server.url}/instruments/add/")
    page.get_by_role("button", name="Add it").click()
    expect(page.get_by_text("Fill this in.").first).to_be_visible()
    context.close()
