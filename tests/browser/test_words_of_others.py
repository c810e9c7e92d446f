"""Every column of words filled by somebody who means harm, then by a word without an end; the main pages of each role.

No script runs and nothing is reported on the console; no page scrolls sideways, and no text is cut off, out of the
window or on top of other text, at the desk in the light and at 320 px in the dark.
"""

from pathlib import Path

import pytest
from django.db import transaction
from playwright.sync_api import Browser, Page

from tests.access.cast import AUDITOR, FACILITY, INSPECTOR, PLANNER, QUALITY, REVIEWER, SIGNATORY
from tests.access.markup import EVIL, HANDLER, TAG
from tests.access.spoil import spoil
from tests.access.table import lines
from tests.browser.conftest import AT_400, DESK, faults_of_access
from tests.browser.staged import Audience, staged

pytestmark = [pytest.mark.django_db(transaction=True)]
LEGIBLE = Path(__file__).with_name("legible.js").read_text()
# Three hundred letters of a language that joins its words.
ENDLESS = ("Überspannungsschutzgeräteanschlussklemmenkasten" * 7)[:300]
MAIN = {
    PLANNER: (
        "due sites site client structure structure-parts part point visits visit plan-visit reports documents document "
        "instruments instrument defects defect planning year people rules rule gaps log register-find section-questions"
    ),
    INSPECTOR: "visit-point visit-readings-file",
    REVIEWER: "reading",
    SIGNATORY: "report",
    QUALITY: "person days-after-events your-sign-in",
    FACILITY: "buildings structure report-event",
    AUDITOR: "past-day past-day-structure audit-sample-drawn",
}
ALSO_BY_AXE = {"structure", "visit", "report"}
RAN = "window.evil = () => { window.evilRan = true }"
BORN = f"!!window.evilRan || !!document.querySelector('{TAG}, [{HANDLER}], [onerror]')"


@pytest.mark.parametrize("words", [EVIL, ENDLESS], ids=["mark-up", "a word without an end"])
def test_the_main_pages_hold_whatever_stands_in_them(browser: Browser, live_server, words: str) -> None:
    faults = []
    with staged() as stage:
        with transaction.atomic():
            spoil(words)
        audience, table = Audience(browser, live_server.url, stage), {line.name: line for line in lines()}
        for who, names in MAIN.items():
            page = audience.page_of(str(who))
            page.add_init_script(RAN)
            for name in names.split():
                assert audience.opened(str(who), stage.address(table[name])) == 200, name
                faults += [f"{name} as {who}: {fault}" for fault in faults_in(page, axe=name in ALSO_BY_AXE)]
        audience.leave()
    assert not faults + audience.complaints, "\n".join(faults + audience.complaints)


def faults_in(page: Page, *, axe: bool) -> list[str]:
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    found = ["words became mark-up"] if page.evaluate(BORN) else []
    for (width, height), scheme in ((DESK, "light"), (AT_400, "dark")):
        page.set_viewport_size({"width": width, "height": height})
        page.emulate_media(color_scheme=scheme)
        found += [f"{said} ({width} px)" for said in page.evaluate(LEGIBLE)]
        wide = page.evaluate("document.documentElement.scrollWidth")
        found += [f"scrolls sideways: {wide} px in a window of {width} px"] if wide > width else []
        found += faults_of_access(page) if axe else []
    return found
