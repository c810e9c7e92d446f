"""The record that the walls are tried on, committed and served; each person of the cast at a page of their own."""

from collections.abc import Iterator
from contextlib import contextmanager

import time_machine
from django.conf import settings
from django.db import transaction
from playwright.sync_api import Browser, Error, Page

from tests.access import stage as staging
from tests.access.cast import ANONYMOUS
from tests.access.stage import Stage
from tests.browser.conftest import at_the_desk


@contextmanager
def staged() -> Iterator[Stage]:
    """The stage at its moment, with the clock going on. The test commits, so it is emptied as any such test is."""
    with time_machine.travel(staging.NOW, tick=True):
        with transaction.atomic():
            stage = staging.build()
        yield stage


class Audience:
    """Pages by who sits at them, each signed in once with the session that the stage made."""

    def __init__(self, browser: Browser, server: str, stage: Stage) -> None:
        self._browser, self.server, self._stage = browser, server, stage
        self.pages: dict[str, Page] = {}
        self.complaints: list[str] = []

    def page_of(self, who: str) -> Page:
        if who not in self.pages:
            context = at_the_desk(self._browser)
            if who != ANONYMOUS:
                key = {
                    "name": settings.SESSION_COOKIE_NAME,
                    "value": self._stage.keys[who],
                    "url": self.server,
                }
                context.add_cookies([key])  # type: ignore[list-item]  # as playwright documents it
            self.pages[who] = self._watched(context.new_page())
        return self.pages[who]

    def _watched(self, page: Page) -> Page:
        def note(words: str) -> None:
            self.complaints.append(f"{page.url}: {words}")

        page.on("pageerror", lambda error: note(str(error)))
        page.on("dialog", lambda dialog: (note(f"a dialog: {dialog.message}"), dialog.dismiss()))
        page.on(
            "console",
            # A page that answers 410 says so on the console; that is no complaint about the page.
            lambda said: (
                note(said.text)
                if said.type in ("error", "warning") and "Failed to load resource" not in said.text
                else None
            ),
        )
        return page

    def opened(self, who: str, address: str) -> int | None:
        """The status with which the page was answered; None where a file came instead."""
        try:
            answer = self.page_of(who).goto(f"{self.server}{address}")
        except Error as fault:
            if "Download is starting" in fault.message:
                return None
            raise
        assert answer is not None
        return answer.status if "text/html" in answer.headers.get("content-type", "") else None

    def leave(self) -> None:
        for page in self.pages.values():
            page.context.close()
