"""``python -m tests.browser.pictures OUTDIR``: pictures of every page, as the people of the demo see them.

Makes the demo in a folder of its own, serves it on the loopback, signs in, follows the links to one page of each
address, and takes each at the desk, at the desk in the dark, on a phone, and on paper (PDF); and so the page
of each error.
"""

import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urljoin, urlsplit
from urllib.request import urlopen

import django
from django.template.loader import render_to_string
from playwright.sync_api import Browser, Error, Page, sync_playwright

from tests.browser.conftest import CHROMIUM, FLAGS, VIEWS

ROOT = Path(__file__).resolve().parents[2]
ROLES = ("planner", "inspector", "reviewing engineer", "authorised signatory", "facility manager", "auditor")
MOST_OF_ONE_KIND = 2


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as data,
        served(Path(data)) as (address, told),
        sync_playwright() as play,
    ):
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        take(browser, f"{address}/sign-in/", folder, "sign-in", None)
        for name, html in error_pages():
            take(browser, f"{address}/{name}/", folder, name, None, html)
        for person in told["sign_ins"]:
            if person["role"] in ROLES:
                picture_all(browser, address, person, folder)
        browser.close()


@contextmanager
def served(data: Path) -> Iterator[tuple[str, dict]]:
    """The demo, made and served; ends with the block."""
    environment = {**os.environ, "DOWNLEAD_DATA": str(data)}
    environment.pop("DATABASE_URL", None)
    command = [sys.executable, "manage.py", "demo", "--json"]
    made = subprocess.run(
        [*command, "--no-serve"], cwd=ROOT, env=environment, check=True, capture_output=True, text=True
    )
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [*command, "--port", str(port)], cwd=ROOT, env=environment, stdout=subprocess.DEVNULL
    )
    address = f"http://127.0.0.1:{port}"
    try:
        wait_for(f"{address}/sign-in/")
        yield address, json.loads(made.stdout)
    finally:
        server.terminate()
        server.wait(timeout=20)


def wait_for(url: str) -> None:
    for _ in range(150):
        try:
            urlopen(url).close()  # noqa: S310 - our own server on the loopback
        except OSError:
            time.sleep(0.2)
        else:
            return
    raise TimeoutError(f"{url} did not answer.")


def error_pages() -> Iterator[tuple[str, str]]:
    """Each as its template makes it: most of them nobody can ask a server in order for."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    for template in sorted((ROOT / "sites" / "templates").glob("[0-9]*.html")):
        yield f"error-{template.stem}", render_to_string(template.name)


def picture_all(browser: Browser, address: str, person: dict, folder: Path) -> None:
    """One or two pages of each kind that this person can reach."""
    state = folder / "session.json"
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{address}/sign-in/")
    page.get_by_label("E-mail").fill(person["email"])
    page.get_by_label("Password").fill(person["password"])
    page.get_by_role("button", name="Sign in", exact=True).click()
    context.storage_state(path=state)
    for name, url in reachable(page, f"{address}/"):
        take(browser, url, folder, f"{person['role'].split()[0]}-{name}", state)
    context.close()
    state.unlink()


def reachable(page: Page, start: str) -> list[tuple[str, str]]:
    """Breadth first along links; at most two addresses that differ only in their numbers."""
    waiting, seen, kinds, found = [start], {start}, {}, []
    while waiting:
        url = waiting.pop(0)
        kind = "-".join("n" if part.isdigit() else part for part in urlsplit(url).path.split("/") if part)
        if kinds.get(kind, 0) >= MOST_OF_ONE_KIND or kind.endswith(("file", "csv")):
            continue
        try:
            answer = page.goto(url)
        except Error as fault:
            if "Download is starting" in fault.message:
                continue  # a file, not a page
            raise
        if answer is None or "html" not in answer.headers.get("content-type", ""):
            continue
        kinds[kind] = kinds.get(kind, 0) + 1
        found.append((f"{kind}-{kinds[kind]}", url))
        for link in page.eval_on_selector_all("a[href]", "links => links.map(link => link.href)"):
            plain = urljoin(url, link).split("#")[0].split("?")[0]
            if plain.startswith(start) and plain not in seen:
                seen.add(plain)
                waiting.append(plain)
    return found


def take(
    browser: Browser, url: str, folder: Path, name: str, state: Path | None, html: str | None = None
) -> None:
    """html: what to show at the address, where it is not what the server answers there"""
    for view in ("desk", "desk-dark", "phone"):
        width, height, scheme = VIEWS[view]
        context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme, storage_state=state
        )
        page = context.new_page()
        if html is not None:
            page.route(url, lambda route: route.fulfill(body=html, content_type="text/html; charset=utf-8"))
        page.goto(url)
        page.screenshot(path=folder / f"{name}-{view}.png", full_page=True)
        if view == "desk":
            page.pdf(path=folder / f"{name}-paper.pdf", prefer_css_page_size=True)
        context.close()


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Say where the pictures go: python -m tests.browser.pictures OUTDIR")
    main(Path(sys.argv[1]))
