"""Visits, points, readings and reports in Chromium: for all readers, widths and schemes, and by keyboard alone."""

from collections.abc import Callable
from itertools import product
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from inspections.actions import defects, visits
from inspections.models import Reading, Reason, Visit, VisitState
from reports.models import Issue
from sites.models import Role
from tests.browser.conftest import AT_400, DESK
from tests.factories import PASSWORD, DefectFactory
from tests.inspections.views.visit_scene import HOUR, NUMBERS, Scene, scene

pytestmark = [pytest.mark.django_db(transaction=True)]


@pytest.fixture
def here() -> Scene:
    """A history with everything the pages show, ending today: these pages are served by the machine's own clock."""
    here = scene(timezone.now().replace(microsecond=0), explosion_risk=True)
    for years, text in ((3, "3.00"), (2, "3.40"), (1, "3.90")):
        here.issued(at=here.at - years * 365 * 24 * HOUR, texts=dict.fromkeys(NUMBERS, text))
    visit = here.on_site()
    here.read(visit, {"2": "24.00", "3": "OL"})
    here.read(visit, {"10": "4.20"}, method="two-wire")
    here.reason(visit, "12A", Reason.NOT_ACCESSIBLE, "scaffold needed")
    DefectFactory(
        visit=visit, urgency=here.urgency, by=here.people[Role.INSPECTOR], point=here.points["12A"],
        found_at=here.at - HOUR,
    )  # fmt: skip
    return here


def current() -> Visit:
    return Visit.objects.get(state=VisitState.ON_SITE)


def sign_in(page: Page, server: str, here: Scene, role: str) -> None:
    page.goto(f"{server}{reverse('sign-in')}")
    page.get_by_label("E-mail").fill(here.people[role].email or "")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


def test_the_inspectors_pages_hold(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    planned = here.planned()
    sign_in(desk, live_server.url, here, Role.INSPECTOR)
    for address in (
        reverse("visits"),
        reverse("visit", args=[planned.pk]),
        reverse("visit", args=[current().pk]),
        reverse("visit-point", args=[current().pk, here.points["1"].pk]),
        reverse("visit-point", args=[current().pk, here.points["2"].pk]),
        reverse("reading-correct", args=[Reading.objects.get(point=here.points["2"], visit=current()).pk]),
    ):
        desk.goto(f"{live_server.url}{address}")
        holds(desk)


def test_the_record_holds(desk: Page, live_server, here: Scene, holds: Callable[[Page], None]) -> None:
    sign_in(desk, live_server.url, here, Role.SIGNATORY)
    reading = Reading.objects.get(point=here.points["2"], visit=current())
    issue = Issue.objects.latest("pk")
    for address in (
        reverse("point", args=[here.points["2"].pk]),
        reverse("point", args=[here.points["12A"].pk]),
        reverse("reading", args=[reading.pk]),
        reverse("reports"),
        reverse("report", args=[issue.pk]),
    ):
        desk.goto(f"{live_server.url}{address}")
        holds(desk)


def test_planning_holds_before_and_after_a_fault(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, here, Role.PLANNER)
    desk.goto(f"{live_server.url}{reverse('plan-visit', args=[here.structure.pk])}")
    holds(desk)
    desk.get_by_label("Purpose").fill("after a strike")
    desk.get_by_role("button", name="Plan the visit").click()
    expect(desk.get_by_role("alert")).to_contain_text("Kind of visit")
    expect(desk.get_by_label("Purpose")).to_have_value("after a strike")
    holds(desk)


def test_a_refused_file_holds(
    desk: Page, live_server, here: Scene, tmp_path: Path, holds: Callable[[Page], None]
) -> None:
    sheet = tmp_path / "a-day-with-a-rather-long-name-for-a-narrow-screen.csv"
    sheet.write_bytes(here.sheet(here.row("99", "5.00"), here.row("1", "1.2.3")))
    sign_in(desk, live_server.url, here, Role.INSPECTOR)
    desk.goto(f"{live_server.url}{reverse('visit-readings-file', args=[current().pk])}")
    desk.get_by_label("A day’s readings").set_input_files(sheet)
    desk.get_by_role("button", name="Import the readings").click()
    expect(desk.get_by_role("alert")).to_contain_text("2 things to put right")
    expect(desk.get_by_role("rowheader", name="Line 3")).to_be_visible()
    holds(desk)


def test_an_inspector_works_by_keyboard_alone(desk: Page, live_server, here: Scene) -> None:
    visit = here.planned()
    sign_in(desk, live_server.url, here, Role.INSPECTOR)
    desk.goto(f"{live_server.url}{reverse('visit', args=[visit.pk])}")
    tab_to(desk, "id_start-arrived_at")
    arrived = here.at - HOUR  # in the browser's own field, in the order of its language
    desk.keyboard.type(arrived.strftime("%m%d%Y"))
    desk.keyboard.press("ArrowRight")
    desk.keyboard.type(arrived.strftime("%I%M%p"))
    tab_to_button(desk, "Begin the visit")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("status")).to_contain_text("The visit has begun")
    tab_to_summary(desk, "Note the conditions")
    desk.keyboard.press("Enter")
    for words in ("dry", "none", "damp", "not taken"):
        desk.keyboard.press("Tab")
        desk.keyboard.type(words)
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("status")).to_contain_text("The conditions are kept")
    visit.refresh_from_db()
    assert (visit.weather, visit.air_temperature) == ("dry", "not taken")


def tab_to(page: Page, element_id: str) -> None:
    _tab_until(page, f"document.activeElement.id === '{element_id}'")


def tab_to_button(page: Page, name: str) -> None:
    _tab_until(
        page,
        f"document.activeElement.tagName === 'BUTTON' && document.activeElement.textContent === '{name}'",
    )


def tab_to_summary(page: Page, name: str) -> None:
    _tab_until(
        page,
        f"document.activeElement.tagName === 'SUMMARY' && document.activeElement.textContent === '{name}'",
    )


def _tab_until(page: Page, reached: str) -> None:
    for _ in range(60):
        if page.evaluate(reached):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"The keyboard never came to where {reached}.")


def test_every_stop_of_the_visit_and_report_pages_has_its_ring(desk: Page, live_server, here: Scene) -> None:
    sign_in(desk, live_server.url, here, Role.SIGNATORY)
    addresses = reverse("visit", args=[current().pk]), reverse("report", args=[Issue.objects.latest("pk").pk])
    for address, (width, height) in product(addresses, (DESK, AT_400)):
        desk.set_viewport_size({"width": width, "height": height})
        desk.goto(f"{live_server.url}{address}")
        stops = desk.locator("main a, main button, main input:not([type=hidden]), main summary").count()
        desk.get_by_role("button", name="Sign out").focus()
        for _ in range(min(stops, 60)):
            desk.keyboard.press("Tab")
            wide, high, ring = desk.evaluate(
                """(() => { const e = document.activeElement, b = e.getBoundingClientRect();
                return [b.width, b.height, getComputedStyle(e).outlineWidth]; })()"""
            )
            assert wide > 4 and high >= 16, desk.evaluate("document.activeElement.outerHTML")
            assert ring == "3px", desk.evaluate("document.activeElement.outerHTML")


def test_the_report_is_issued_and_downloaded(desk: Page, live_server, here: Scene) -> None:
    visit = current()
    here.reason(visit, "1", Reason.NOT_TESTED)
    inspector = here.people[Role.INSPECTOR]
    defects.tell(
        visit.defects.get(), to_whom="the site's electrician", how="by word of mouth", told_at=here.at, by=inspector,
        at=here.at,
    )  # fmt: skip
    here.completed(visit, at=here.at)
    visits.hand_in(visit, by=inspector, at=here.at)
    visits.approve(visit, by=here.people[Role.REVIEWER], at=here.at)
    sign_in(desk, live_server.url, here, Role.SIGNATORY)
    desk.goto(f"{live_server.url}{reverse('visit', args=[visit.pk])}")
    desk.get_by_role("button", name="Issue the report").click()
    expect(desk.get_by_role("heading", level=1)).to_contain_text("Inspection of lightning protection")
    with desk.expect_download() as download:
        desk.get_by_role("link", name="Download the PDF").click()
    assert download.value.suggested_filename == "report-4-issue-1.pdf"
    assert download.value.path().read_bytes().startswith(b"%PDF-")


def test_paper_has_neither_navigation_nor_buttons(desk: Page, live_server, here: Scene) -> None:
    sign_in(desk, live_server.url, here, Role.INSPECTOR)
    desk.goto(f"{live_server.url}{reverse('visit', args=[current().pk])}")
    desk.emulate_media(media="print")
    expect(desk.get_by_role("navigation", name="Main")).not_to_be_visible()
    expect(desk.get_by_role("link", name="Enter readings")).not_to_be_visible()
    expect(desk.get_by_role("heading", name="Readings")).to_be_visible()


def test_a_point_to_be_read_prints_as_a_sheet_to_fill_in_by_hand(
    desk: Page, live_server, here: Scene
) -> None:
    sign_in(desk, live_server.url, here, Role.INSPECTOR)
    desk.goto(f"{live_server.url}{reverse('visit-enter', args=[current().pk])}")
    desk.emulate_media(media="print")
    for label in ("Reading, as the display shows it", "Instrument and range", "Read at"):
        expect(desk.get_by_label(label)).to_be_visible()
    expect(desk.get_by_role("button", name="Keep the reading and go on")).not_to_be_visible()


def test_readings_are_entered_along_the_route_by_keyboard_alone(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    visit = current()
    sign_in(desk, live_server.url, here, Role.INSPECTOR)
    desk.goto(f"{live_server.url}{reverse('visit-enter', args=[visit.pk])}")
    expect(desk.get_by_role("heading", level=1)).to_have_text("Point 1")
    desk.get_by_label("Reading, as the display shows it").focus()
    desk.keyboard.type("1.2.3")
    desk.keyboard.press("Enter")
    expect(desk.locator("#id_reading-reading_error")).to_contain_text("1.2.3")
    field = desk.get_by_label("Reading, as the display shows it")
    expect(field).to_have_value("1.2.3")
    field.fill("3.90")
    for _ in range(3):  # past the unit, as last time, and the range, as at the point before
        desk.keyboard.press("Tab")
    expect(desk.get_by_label("Method")).to_be_focused()
    desk.keyboard.type("four")
    expect(desk.get_by_label("Method")).to_have_value("four-wire")
    desk.get_by_role("button", name="Keep the reading and go on").focus()
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="Visit", exact=False, level=1)).to_be_visible()
    assert Reading.objects.get(visit=visit, point=here.points["1"]).text == "3.90"
    holds(desk)


def test_the_parts_are_answered_by_keyboard_alone_on_a_narrow_page(
    browser, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    visit = current()
    context = browser.new_context(viewport={"width": 320, "height": 640}, java_script_enabled=True)
    page = context.new_page()
    sign_in(page, live_server.url, here, Role.INSPECTOR)
    page.goto(f"{live_server.url}{reverse('visit-parts', args=[visit.pk])}")
    parts = [here.points[number].part for number in ("1", "2", "3", "10", "12A")]
    tab_to_button(page, f"Seen: {parts[0].name}")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text(f"Seen: {parts[0].name}.")
    # The page stands at the next part, and so does the keyboard.
    assert page.url.endswith(f"#part-{parts[1].pk}")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == f"Seen: {parts[1].name}"
    boxes = page.locator("button[name=parts]").all()
    assert min(box.bounding_box()["height"] for box in boxes if box.is_visible()) >= 44
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(parts[1].name)
    page.get_by_label("Not seen: not accessible").focus()
    page.keyboard.press("Space")
    page.get_by_label("Remark").focus()
    page.keyboard.type("no ladder")
    tab_to_button(page, "Keep it and go on")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("not seen: not accessible")
    assert page.url.endswith(f"#part-{parts[2].pk}")
    expect(page.locator(f"#part-{parts[1].pk}")).to_contain_text("no ladder")
    tab_to_summary(page, "All that are open of one kind were seen")
    page.keyboard.press("Enter")
    tab_to_button(page, "Seen: 3 down-conductors")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").last).to_contain_text("Every part of this visit is answered.")
    expect(page.get_by_text("4 of 5 parts seen, 1 not accessible").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    context.close()
