"""Trying a reading, calculators, drift and sources in Chromium: all readers, widths and schemes, keyboard, paper."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from inspections.formulas import FORMULAS
from inspections.models import Reading, Rebase
from sites.models import PartKind, Quantity, Role
from tests import factories as make
from tests.browser.test_visits_and_reports import sign_in
from tests.inspections.views.visit_scene import HOUR, NUMBERS, Scene, scene

pytestmark = [pytest.mark.django_db(transaction=True)]
YEAR = 365 * 24 * HOUR


@pytest.fixture
def here() -> Scene:
    """Five years of a rising resistance, ending today."""
    here = scene(timezone.now().replace(microsecond=0))
    for years, text in ((5, "14.00"), (4, "14.90"), (3, "15.70"), (2, "16.80"), (1, "17.60")):
        here.issued(at=here.at - years * YEAR, texts=dict.fromkeys(NUMBERS, text), file=False)
    return here


def unfolded(page: Page) -> None:
    for summary in page.locator("summary").all():
        summary.click()


def go(page: Page, server: str, address: str) -> None:
    page.goto(f"{server}{address}")


def test_trying_a_reading_holds_empty_answered_and_refused(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, here, Role.REVIEWER)
    go(desk, live_server.url, reverse("try-a-reading"))
    unfolded(desk)
    holds(desk)
    desk.get_by_role("button", name="Work it out").click()
    expect(desk.get_by_role("alert")).to_contain_text("This cannot be worked out yet.")
    holds(desk)
    go(desk, live_server.url, reverse("try-a-reading") + "?example")
    desk.get_by_role("button", name="Work it out").click()
    expect(desk.get_by_role("heading", name="Answer")).to_be_visible()
    unfolded(desk)
    holds(desk)


def test_calculators_hold(desk: Page, live_server, here: Scene, holds: Callable[[Page], None]) -> None:
    sign_in(desk, live_server.url, here, Role.INSPECTOR)
    go(
        desk,
        live_server.url,
        reverse("calculator", args=["rod"]) + "?resistivity=100 ohm*m&length=3 m&diameter=16 mm",
    )
    expect(desk.locator(".working")).to_contain_text("33.49")
    unfolded(desk)
    holds(desk)
    go(desk, live_server.url, reverse("calculator", args=["conductor"]) + "?material=own&length=60")
    expect(desk.get_by_role("alert")).to_be_visible()
    holds(desk)
    go(desk, live_server.url, reverse("two-layer-fit"))
    desk.get_by_label("Spacing and resistance").fill(
        "1 m; 16.5 Ω\n2 m; 9.6 Ω\n4 m; 6.0 Ω\n8 m; 4.1 Ω\n16 m; 2.6 Ω"
    )
    desk.get_by_role("button", name="Find the layers").click()
    expect(desk.get_by_role("img", name="Apparent resistivity over the spacing of the pins")).to_be_visible()
    holds(desk)
    go(desk, live_server.url, reverse("whole-against-parts"))
    desk.get_by_label("Measured as a whole").fill("12 Ω")
    desk.get_by_label("Each electrode by itself").fill("48 Ω\n52 Ω")
    desk.get_by_role("button", name="Compare").click()
    expect(desk.locator(".question")).to_contain_text("other earths joined?")
    holds(desk)


def test_every_calculators_empty_form_holds(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, here, Role.INSPECTOR)
    for name in FORMULAS:
        go(desk, live_server.url, reverse("calculator", args=[name]))
        holds(desk)


def test_a_point_with_its_drift_and_a_moved_baseline_holds(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, here, Role.REVIEWER)
    point = here.points["2"]
    go(desk, live_server.url, reverse("point", args=[point.pk]))
    expect(desk.locator("#drift")).to_be_visible()
    expect(desk.get_by_text("between", exact=False).first).to_be_visible()
    holds(desk)
    reading = Reading.objects.filter(point=point).order_by("at")[1]
    go(desk, live_server.url, reverse("reading", args=[reading.pk]))
    desk.get_by_text("Make this the baseline").click()
    holds(desk)
    desk.get_by_label("Why later readings are compared with this one").fill("tape renewed")
    desk.get_by_role("button", name="Move the baseline here").click()
    expect(desk.get_by_role("status")).to_contain_text("The baseline has moved.")
    holds(desk)
    assert Rebase.objects.get().reason == "tape renewed"


def test_a_structures_whole_earth_holds(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    system = make.SystemFactory(structure=here.structure, name="earthing")
    visit = make.VisitFactory(structure=here.structure, number=900)
    for ohm, quantity in (("48", Quantity.EARTH), ("52", Quantity.EARTH), ("12", Quantity.EARTH_SYSTEM)):
        part = make.PartFactory(system=system, structure=here.structure, kind=PartKind.ELECTRODE)
        point = make.TestPointFactory(structure=here.structure, part=part, quantity=quantity)
        row = make.ReadingFactory(
            visit=visit, point=point, text=ohm, unit="Ω", method="fall-of-potential", joint_state="opened"
        )
        make.VerdictFactory(reading=row, corrected_ohm=ohm)
    sign_in(desk, live_server.url, here, Role.PLANNER)
    go(desk, live_server.url, reverse("structure", args=[here.structure.pk]))
    expect(desk.locator(".question")).to_contain_text("Other earths joined?")
    holds(desk)


def test_a_reading_is_tried_by_keyboard_alone(desk: Page, live_server, here: Scene) -> None:
    sign_in(desk, live_server.url, here, Role.REVIEWER)
    go(desk, live_server.url, reverse("try-a-reading") + "?example")
    display = desk.get_by_label("Display", exact=True)
    display.focus()
    display.fill("OL")
    for _ in range(80):
        desk.keyboard.press("Tab")
        ring = desk.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert ring == "3px", desk.evaluate("document.activeElement.outerHTML")
        if desk.evaluate("document.activeElement.textContent.trim()") == "Work it out":
            break
    desk.keyboard.press("Enter")
    expect(desk.locator("#answer")).to_contain_text("above limit")
    expect(desk.get_by_label("Display", exact=True)).to_have_value("OL")
    expect(desk.get_by_label("Earlier results of the point")).to_have_value(
        "2026-05-02; 4.60 mΩ; four-wire; ; baseline"
    )


def test_on_paper_an_answer_keeps_its_working_and_loses_the_ways_elsewhere(
    desk: Page, live_server, here: Scene
) -> None:
    sign_in(desk, live_server.url, here, Role.REVIEWER)
    go(desk, live_server.url, reverse("try-a-reading") + "?example")
    desk.get_by_role("button", name="Work it out").click()
    desk.emulate_media(media="print")
    expect(desk.locator(".working").first).to_be_visible()
    for hidden in (".top", ".foot-ways", "main .acts"):
        expect(desk.locator(hidden).first).to_be_hidden()
