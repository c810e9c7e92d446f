"""Defects in Chromium: at every size and scheme, and a danger told by keyboard alone."""

from collections.abc import Callable, Iterator
from datetime import timedelta

import pytest
import time_machine
from playwright.sync_api import Page, expect

from inspections.actions import defects
from inspections.models import Defect, Urgency
from sites.models import Role
from tests import factories as make
from tests.inspections.views.visit_scene import NOW, Scene, scene

pytestmark = [pytest.mark.django_db(transaction=True)]
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def _now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=True):
        yield


@pytest.fixture
def here(transactional_db: None) -> Scene:
    return scene()


def found(here: Scene) -> Defect:
    """One told as dangerous at an issued visit, made safe; and one accepted."""
    visit = here.issued(at=NOW - 400 * DAY).visit
    inspector, planner = here.people[Role.INSPECTOR], here.people[Role.PLANNER]
    at = NOW - 399 * DAY
    facts = {"visit": visit, "urgency": here.urgency, "by": inspector, "found_at": at}
    defect = make.DefectFactory(point=here.points["12A"], words="Conductor cut at 3 m.", **facts)
    defects.tell(defect, to_whom="the caretaker", how="by telephone", told_at=at, by=inspector, at=at)
    other = make.DefectFactory(words="Label missing.", **{**facts, "urgency": Urgency.objects.get(rank=2)})
    defects.accept(
        other, accepted_by="the owner", document="letter", until=(NOW + 30 * DAY).date(), by=planner, at=NOW - DAY
    )  # fmt: skip
    return defect


def sign_in(page: Page, server: str, here: Scene, role: str) -> None:
    page.goto(f"{server}/sign-in/")
    page.get_by_label("E-mail").fill(here.people[role].email or "")
    page.get_by_label("Password", exact=True).fill(make.PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


def test_it_holds_at_every_size_and_scheme(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    defect = found(here)
    visit = here.on_site()
    sign_in(desk, live_server.url, here, Role.INSPECTOR)
    addresses = ["/defects/", f"/defects/{defect.pk}/", f"/visits/{visit.pk}/"]
    addresses.append(f"/structures/{here.structure.pk}/")
    for address in addresses:
        answer = desk.goto(live_server.url + address)
        assert answer and answer.status == 200
        expect(desk.get_by_role("heading", level=1)).to_have_count(1)
        holds(desk)


def test_a_danger_is_told_by_keyboard_alone(desk: Page, live_server, here: Scene) -> None:
    defect = found(here)
    sign_in(desk, live_server.url, here, Role.REVIEWER)
    desk.goto(f"{live_server.url}/defects/{defect.pk}/")

    def tab_to(element: object) -> None:
        for _ in range(80):
            desk.keyboard.press("Tab")
            if element.evaluate("one => one === document.activeElement"):  # type: ignore[attr-defined]
                return
        raise AssertionError("not reached by Tab")

    tab_to(desk.locator("summary").first)
    desk.keyboard.press("Enter")
    tab_to(desk.get_by_label("Who was told"))
    desk.keyboard.type("the owner")
    tab_to(desk.get_by_role("button", name="Keep who was told"))
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Say how they were told.").first).to_be_visible()
    expect(desk.get_by_label("Who was told")).to_have_value("the owner")
    assert defect.steps.count() == 1
