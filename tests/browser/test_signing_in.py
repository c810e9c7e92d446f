"""Signing in with an app's code and with a passkey, in Chromium: its own authenticator, sizes, keyboard."""

import pytest
from playwright.sync_api import Page, expect

from sites.models import Role
from tests import factories as make
from tests.inspections.views.places_record import member, with_password
from tests.second_factor import shown

pytestmark = [pytest.mark.django_db(transaction=True)]
EMAIL = "h.tollgarth@gorsewick.example"


@pytest.fixture
def person(transactional_db):
    return with_password(member(make.FirmFactory(), Role.QUALITY, person={"email": EMAIL}))


def password(page: Page, server: str) -> None:
    page.goto(f"{server}/sign-in/")
    page.get_by_label("E-mail").fill(EMAIL)
    page.get_by_label("Password").fill(make.PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()


def with_authenticator(page: Page) -> None:
    """An authenticator in the browser, as one in a phone: it keeps passkeys and knows its owner."""
    tools = page.context.new_cdp_session(page)
    tools.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }
    tools.send("WebAuthn.addVirtualAuthenticator", {"options": options})


def test_an_app_is_set_up_and_asked_for_by_keyboard_alone(desk: Page, live_server, person, holds) -> None:
    password(desk, live_server.url)
    desk.goto(f"{live_server.url}/your-sign-in/app/")
    holds(desk)
    secret = desk.locator(".secret").inner_text()
    picture = desk.locator("img.qr")
    assert picture.evaluate("image => image.complete && image.naturalWidth > 0")
    tab_to(desk, "#id_code")
    desk.keyboard.type(shown(secret))
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Your recovery codes")).to_be_visible()
    codes = desk.locator(".codes code").all_inner_texts()
    assert len(codes) == 10
    tab_to(desk, ".acts .btn-primary")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Your sign-in", level=1)).to_be_visible()
    desk.get_by_role("button", name="Sign out").press("Enter")
    desk.goto(f"{live_server.url}/sign-in/")
    tab_to(desk, "#id_username")
    desk.keyboard.type(EMAIL)
    desk.keyboard.press("Tab")
    desk.keyboard.type(make.PASSWORD)
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="The second step")).to_be_visible()
    tab_to(desk, "#id_code")
    desk.keyboard.type(codes[0])
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Due", level=1)).to_be_visible()


def test_a_passkey_is_set_up_and_signs_in_alone_and_as_the_second_step(
    desk: Page, live_server, person
) -> None:
    with_authenticator(desk)
    password(desk, live_server.url)
    expect(desk.get_by_role("heading", name="Due", level=1)).to_be_visible()
    desk.goto(f"{live_server.url}/your-sign-in/passkeys/")
    desk.get_by_label("What to call it").fill("Telephone")
    desk.get_by_label("Sign in with it alone").check()
    desk.get_by_role("button", name="Set up the passkey").click()
    expect(desk.get_by_role("heading", name="Your recovery codes")).to_be_visible()
    desk.get_by_role("link", name="I have kept them").click()
    expect(desk.get_by_role("rowheader", name="Telephone")).to_be_visible()
    sign_out(desk)
    desk.get_by_role("button", name="Sign in with a passkey").click()
    expect(desk.get_by_role("heading", name="Due", level=1)).to_be_visible()
    sign_out(desk)
    password(desk, live_server.url)
    expect(desk.get_by_role("heading", name="The second step")).to_be_visible()
    desk.get_by_role("button", name="Use a passkey").click()
    expect(desk.get_by_role("heading", name="Due", level=1)).to_be_visible()


def sign_out(page: Page) -> None:
    """All of the page is there first: what a next page breaks off counts as not loaded."""
    page.wait_for_load_state("networkidle")
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in", level=1)).to_be_visible()
    page.wait_for_load_state("networkidle")


def tab_to(page: Page, selector: str) -> None:
    wanted = page.locator(selector).first
    for _ in range(60):
        if wanted.evaluate("element => element === document.activeElement"):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} is not reached by Tab")
