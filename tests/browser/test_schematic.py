"""The schematic of a structure in Chromium: at every size and scheme, by keyboard to a point, and on grey paper."""

from collections.abc import Callable, Iterator

import pytest
import time_machine
from playwright.sync_api import Page, expect

from sites.models import Role
from tests.browser.conftest import AT_400, DESK, PHONE
from tests.browser.test_owning import sign_in
from tests.inspections.views.places_record import NOON, Record, member, record, with_password

pytestmark = [pytest.mark.django_db(transaction=True)]
PLANNER = "p@office.example"


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=True):
        yield


@pytest.fixture
def known(transactional_db: None) -> Record:
    known = record()
    with_password(member(known.firm, Role.PLANNER, person={"email": PLANNER}))
    return known


def test_the_schematic_holds_and_leads_to_each_point(
    desk: Page, live_server, known: Record, holds: Callable[[Page], None]
) -> None:
    sign_in(desk, live_server.url, PLANNER, "Due")
    desk.goto(f"{live_server.url}/structures/{known.church.pk}/")
    holds(desk)
    drawn = desk.locator("svg a:visible")
    number = known.church.points.filter(retired_on__isnull=True).count()
    assert drawn.count() >= number > 0
    names = [drawn.nth(n).get_attribute("aria-label") or "" for n in range(drawn.count())]
    assert all(name.startswith("Point ") and "," in name for name in names)
    for width, height in (DESK, PHONE, AT_400):
        desk.set_viewport_size({"width": width, "height": height})
        for n in range(drawn.count()):
            box = drawn.nth(n).bounding_box()
            assert box and box["x"] >= 0 and box["x"] + box["width"] <= width + 1
    desk.emulate_media(media="print")
    expect(drawn.first).to_be_visible()
    desk.emulate_media(media="screen")
    drawn.first.focus()
    desk.keyboard.press("Enter")
    desk.wait_for_url("**/points/**")
    expect(desk.get_by_role("heading", level=1)).to_contain_text("Point")
