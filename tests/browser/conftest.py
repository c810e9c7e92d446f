"""Real pages in real Chromium, kept off the network. These tests run in a pytest process of their own."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
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
# Width, height and scheme at which every page must hold; 320 px is 1280 px at 400 % (WCAG 2.2, 1.4.10).
VIEWS = {
    "desk": (1280, 900, "light"),
    "desk-dark": (1280, 900, "dark"),
    "phone": (390, 844, "light"),
    "narrow": (320, 640, "light"),
}

# Playwright's own event loop runs in the test's thread, where Django would refuse the database.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave these tests out of any run that has others too."""
    named = [Path(argument.partition("::")[0]).resolve() for argument in config.args]
    return None if all(path.is_relative_to(HERE) for path in named) else True


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
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


@pytest.fixture(params=VIEWS)
def view(request: pytest.FixtureRequest, browser: Browser) -> Iterator[Page]:
    """A page at each of the four sizes in turn; a complaint on its console fails the test."""
    width, height, scheme = VIEWS[request.param]
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
    yield from watched(context)


@pytest.fixture
def desk(browser: Browser) -> Iterator[Page]:
    """A page at the desk's size; a complaint on its console fails the test."""
    width, height, scheme = VIEWS["desk"]
    yield from watched(browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme))


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
    found = Axe().run(page).response["violations"]
    return [f"{rule['id']}: {rule['help']}: {node['html'][:200]}" for rule in found for node in rule["nodes"]]


@pytest.fixture
def holds() -> Callable[[Page], None]:
    """``holds(page)``: no violation by axe, no scrolling sideways, our own typeface in use."""

    def check(page: Page) -> None:
        page.evaluate("document.fonts.ready.then(() => true)")
        assert faults_of_access(page) == []
        wide, window = page.evaluate(
            "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
        )
        assert wide <= window, f"the page scrolls sideways: {wide} px in a window of {window} px"
        assert page.evaluate("document.fonts.check('16px \"Source Sans Pro\"')")

    return check
