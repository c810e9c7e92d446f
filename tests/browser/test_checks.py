"""The checks themselves: each must find what it is there to find."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import faults_of_access, watched

pytestmark = [pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def _gallery(settings) -> None:
    settings.ROOT_URLCONF = "tests.sites.gallery"


def test_it_finds_what_readers_cannot_use(browser: Browser, live_server) -> None:
    page = browser.new_page()
    page.goto(f"{live_server.url}/faulty/")
    found = {fault.split(":")[0] for fault in faults_of_access(page)}
    page.close()
    assert {"color-contrast", "label"} <= found


def test_it_finds_a_page_that_scrolls_sideways(
    browser: Browser, live_server, holds: Callable[[Page], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tests.browser.conftest.faults_of_access", lambda page: [])
    page = browser.new_page()
    page.goto(f"{live_server.url}/faulty/")
    with pytest.raises(AssertionError, match="sideways"):
        holds(page)
    page.close()


def test_it_finds_inline_style_and_script_and_the_policy_stops_them(browser: Browser, live_server) -> None:
    pages = watched(browser.new_context())
    page = next(pages)
    page.goto(f"{live_server.url}/faulty/")
    assert page.title() == "Faulty"
    with pytest.raises(AssertionError, match="Content Security Policy"):
        next(pages)
