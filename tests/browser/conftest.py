"""Real pages in real Chromium, kept off the network. These tests run in pytest processes of their own."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request

HERE = Path(__file__).parent
CHROMIUM = shutil.which("chromium")
REQUIRED = os.environ.get("DOWNLEAD_REQUIRE_BROWSER") == "1"
FLAGS = [
    "--no-sandbox",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-gpu",
]
# Width, height and scheme of pictures.
VIEWS = {
    "desk": (1280, 900, "light"),
    "desk-dark": (1280, 900, "dark"),
    "phone": (390, 844, "light"),
}
# Sizes at which no page may scroll sideways: a desk, the same at 200 % and at 400 % (WCAG 2.2, 1.4.4 and 1.4.10), and
# a phone.
DESK, AT_200, PHONE, AT_400 = (1280, 900), (640, 450), (390, 844), (320, 640)

OWN_TYPEFACE = "document.fonts.ready.then(() => document.fonts.check('16px \"Source Sans Pro\"'))"

# Playwright's own event loop runs in the test's thread, where Django would refuse the database.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave these tests out of any run that has others too."""
    named = [Path(argument.partition("::")[0]).resolve() for argument in config.args]
    return None if all(path.is_relative_to(HERE) for path in named) else True


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        # The whole way through each of the three's day is gone on both.
        if item.path.parent == HERE and item.path.name != "test_three_people.py":
            item.add_marker(pytest.mark.either_database)
    if CHROMIUM:
        return
    reason = "there is no Chromium here; on Debian: apt-get install chromium"
    if REQUIRED:
        pytest.exit(f"Browser tests are required, but {reason}.", returncode=1)
    for item in items:
        item.add_marker(pytest.mark.skip(reason=reason))


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_type_launch_args, "executable_path": CHROMIUM, "args": FLAGS}


@pytest.fixture
def desk(browser: Browser) -> Iterator[Page]:
    """A page at the desk's size; a complaint on its console fails the test."""
    yield from watched(at_the_desk(browser))


def at_the_desk(browser: Browser) -> BrowserContext:
    """Colours change at once when the scheme does: whoever asks for less motion gets no transitions."""
    width, height = DESK
    size = {"width": width, "height": height}
    return browser.new_context(viewport=size, color_scheme="light", reduced_motion="reduce")


def watched(context: BrowserContext) -> Iterator[Page]:
    """One page whose console and requests are listened to; complaints fail the test when it ends."""
    page = context.new_page()
    complaints: list[str] = []

    def note(message: ConsoleMessage) -> None:
        # An answer of 403, 404 and so on is what some tests are about.
        if message.type in ("error", "warning") and "Failed to load resource" not in message.text:
            complaints.append(message.text)

    def failed(request: Request) -> None:
        # The next page cuts off what the one before was still fetching, such as its icon.
        if request.failure != "net::ERR_ABORTED":
            complaints.append(f"not loaded: {request.url}")

    page.on("console", note)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("requestfailed", failed)
    yield page
    context.close()
    assert complaints == []


def faults_of_access(page: Page) -> list[str]:
    """What axe finds wrong with the page, one line each: rule, help, element."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    found = page.evaluate("axe.run({resultTypes: ['violations']}).then(found => found.violations)")
    return [f"{rule['id']}: {rule['help']}: {node['html'][:200]}" for rule in found for node in rule["nodes"]]


def faults_of(page: Page) -> list[str]:
    """What does not hold of a page, unfolded, at any size and in either scheme; left as it was found.

    axe looks twice, at the desk in the light and at 320 px in the dark: so it meets both orders of what stands on the
    page and both sets of colours.
    """
    before = page.viewport_size or {"width": DESK[0], "height": DESK[1]}
    closed = page.evaluate_handle("[...document.querySelectorAll('details:not([open])')]")
    closed.evaluate("all => all.forEach(one => { one.open = true })")
    found = [] if page.evaluate(OWN_TYPEFACE) else ["not in our own typeface"]
    for size, scheme in ((DESK, "light"), (AT_200, "light"), (PHONE, "light"), (AT_400, "dark")):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.emulate_media(color_scheme=scheme)
        if size in (DESK, AT_400):
            found += [f"{fault} (at {size[0]} px)" for fault in faults_of_access(page)]
        wide = page.evaluate("document.documentElement.scrollWidth")
        found += [f"scrolls sideways: {wide} px in a window of {size[0]} px"] if wide > size[0] else []
    page.emulate_media(color_scheme="light")
    page.set_viewport_size(before)
    closed.evaluate("all => all.forEach(one => { one.open = false })")
    return found


@pytest.fixture
def holds() -> Callable[[Page], None]:
    """``holds(page)``: nothing found by ``faults_of``."""

    def check(page: Page) -> None:
        assert faults_of(page) == []

    return check
