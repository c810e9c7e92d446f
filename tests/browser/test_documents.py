"""Documents in Chromium: at every size and scheme; kept by keyboard, revised, downloaded byte for byte, withdrawn."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
import time_machine
from playwright.sync_api import FileChooser, Locator, Page, expect

from sites.actions import documents
from sites.actions.documents import About
from sites.models import Document, Role
from sites.uploads import taken
from tests.browser.test_defects import sign_in
from tests.inspections.views.visit_scene import NOW, Scene, scene
from tests.sites.uploads.test_kinds import pdf, picture

pytestmark = [pytest.mark.django_db(transaction=True)]
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def _now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=True):
        yield


@pytest.fixture
def here(transactional_db: None) -> Scene:
    return scene()


def kept(here: Scene) -> list[Document]:
    """A drawing in two revisions, a photograph, and a certificate that was withdrawn."""
    by, place = here.people[Role.PLANNER], here.structure

    def add(kind: str, title: str, content: bytes, name: str, **about: object) -> Document:
        return documents.add(
            place.site, structure=place, kind=kind, title=title, file=taken(BytesIO(content), name),
            about=About(**about), by=by, at=NOW - 9 * DAY,
        )  # fmt: skip

    plan = add(
        "drawing", "Roof and down-conductors", pdf(), "roof.pdf", mark="A", author="The drawing office"
    )
    later = taken(BytesIO(pdf() + b"\n%%EOF\n"), "roof, with the flue of 2026 and its twelve clamps.pdf")
    documents.revise(plan, file=later, about=About(mark="B", words="with the flue"), by=by, at=NOW - DAY)
    photograph = add(
        "photograph", "Clamp at the flue", picture("JPEG"), "flue.jpg", dated=(NOW - 9 * DAY).date()
    )
    gone = add("certificate", "Rods", b"rod;heat\n1;77\n", "rods.csv")
    documents.withdraw(gone, reason="It belongs to another building.", by=by, at=NOW)
    return [plan, photograph, gone]


def test_they_hold_at_every_size_and_scheme(
    desk: Page, live_server, here: Scene, holds: Callable[[Page], None]
) -> None:
    rows = kept(here)
    sign_in(desk, live_server.url, here, Role.PLANNER)
    addresses = ["/documents/", "/documents/?text=nowhere", *(f"/documents/{row.pk}/" for row in rows)]
    addresses += [f"/structures/{here.structure.pk}/", f"/sites/{here.site.pk}/"]
    point = here.points["12A"]
    addresses += [f"/points/{point.pk}/", f"/parts/{point.part_id}/", f"/clients/{here.site.client_id}/"]
    addresses += [f"/sites/{here.site.pk}/documents/add/?point={point.pk}"]
    for address in addresses:
        answer = desk.goto(live_server.url + address)
        assert answer and answer.status == 200
        expect(desk.get_by_role("heading", level=1)).to_have_count(1)
        holds(desk)


def test_one_is_kept_by_keyboard_alone_revised_fetched_and_withdrawn(
    desk: Page, live_server, here: Scene, tmp_path: Path
) -> None:
    first, second = tmp_path / "roof.pdf", tmp_path / "roof of 2026.pdf"
    first.write_bytes(pdf())
    second.write_bytes(pdf() + b"\n%%EOF\n")

    def tab_to(element: Locator) -> None:
        for _ in range(120):
            desk.keyboard.press("Tab")
            if element.evaluate("one => one === document.activeElement"):
                return
        raise AssertionError("not reached by Tab")

    def press(element: Locator) -> None:
        tab_to(element)
        desk.keyboard.press("Enter")

    def choose(file: Path) -> None:
        tab_to(desk.get_by_label("File"))
        chosen: list[FileChooser] = []
        desk.once("filechooser", lambda chooser: chosen.append(chooser))
        for _ in range(20):  # a browser that is busy lets a key go by now and then
            desk.keyboard.press("Enter")
            desk.wait_for_timeout(1_000)
            if chosen:
                break
        chosen[0].set_files(file)

    sign_in(desk, live_server.url, here, Role.PLANNER)
    desk.goto(f"{live_server.url}/structures/{here.structure.pk}/")
    press(desk.get_by_role("link", name="Add a document"))
    expect(desk.get_by_label("Concerns")).to_have_value(str(here.structure.pk))
    tab_to(desk.get_by_label("Title"))
    desk.keyboard.type("Roof and down-conductors")
    tab_to(desk.get_by_label("Kind"))
    desk.keyboard.type("drawing")
    choose(first)
    press(desk.get_by_role("button", name="Keep it"))
    expect(desk.get_by_role("heading", level=1)).to_have_text("Roof and down-conductors")

    press(desk.get_by_role("link", name="Add a later revision"))
    press(desk.get_by_role("button", name="Keep it"))
    expect(desk.get_by_text("Choose the file first.").first).to_be_visible()
    tab_to(desk.get_by_label("Revision, as its author calls it"))
    desk.keyboard.type("B")
    choose(second)
    press(desk.get_by_role("button", name="Keep it"))
    expect(desk.get_by_role("cell", name="replaced")).to_be_visible()

    for name, file in (("Download PDF", second), ("roof.pdf", first)):
        with desk.expect_download() as download:
            press(desk.get_by_role("link", name=name, exact=True))
        assert download.value.path().read_bytes() == file.read_bytes()
        assert download.value.suggested_filename == file.name

    press(desk.locator("summary", has_text="Withdraw this document"))
    tab_to(desk.get_by_label("Why it is not to be used any more"))
    desk.keyboard.type("The roof was rebuilt.")
    press(desk.get_by_role("button", name="Withdraw it"))
    expect(desk.get_by_text("not to be used any more: The roof was rebuilt.")).to_be_visible()
    assert Document.objects.get().withdrawal.reason == "The roof was rebuilt."
