"""Instruments in a real browser: added and calibrated by keyboard, the certificate handed in and back."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import time_machine
from playwright.sync_api import Page, expect

from inspections.models import Calibration, Instrument
from sites.models import Role
from tests import factories as make
from tests.browser.test_owning import sign_in, tab_to
from tests.inspections.views.places_record import NOON, Record, member, record, with_password
from tests.sites.uploads.test_kinds import pdf

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


def test_a_planner_adds_and_calibrates_an_instrument_by_keyboard(
    desk: Page, live_server, known: Record, tmp_path: Path
) -> None:
    certificate = tmp_path / "C-77.pdf"
    certificate.write_bytes(pdf())
    sign_in(desk, live_server.url, PLANNER, "Due")
    tab_to(desk, "Instruments")
    desk.keyboard.press("Enter")
    tab_to(desk, "Add an instrument")
    desk.keyboard.press("Enter")
    desk.get_by_label("Serial number").focus()
    for text in ("77-1", "low-resistance ohmmeter", "25 mΩ", "0.01 mΩ", "half", "2"):
        desk.keyboard.type(text)
        desk.keyboard.press("Tab")
    desk.keyboard.press("Enter")
    expect(desk.get_by_label("Accuracy, percent of reading")).to_have_value(
        "half"
    )  # refused, and nothing lost
    assert not Instrument.objects.filter(serial="77-1").exists()
    desk.get_by_label("Accuracy, percent of reading").fill("0.5")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("heading", name="low-resistance ohmmeter 77-1", level=1)).to_be_visible()
    expect(desk.get_by_text("never calibrated").first).to_be_visible()

    desk.get_by_role("link", name="Record a calibration").click()
    desk.get_by_label("Certificate number").fill("C-77")
    desk.get_by_label("Calibrated on").fill(NOON.date().isoformat())
    desk.get_by_label("Valid until").fill(NOON.date().replace(year=NOON.year + 1).isoformat())
    desk.get_by_label("The certificate itself").set_input_files(certificate)
    desk.get_by_role("button", name="Record it").click()
    expect(desk.get_by_text("in calibration").first).to_be_visible()
    with desk.expect_download() as got:
        desk.get_by_role("link", name="C-77", exact=True).click()
    assert Path(got.value.path()).read_bytes() == certificate.read_bytes()
    assert Calibration.objects.get(certificate="C-77").file.size == certificate.stat().st_size


def test_the_pages_of_instruments_hold_at_every_size_and_scheme(
    desk: Page, live_server, known: Record, holds: Callable[[Page], None]
) -> None:
    calibration = make.CalibrationFileFactory(calibration__instrument__firm=known.firm).calibration
    meter = calibration.instrument
    make.InstrumentRangeFactory(instrument=meter)
    wrong = make.CalibrationFactory(instrument=meter)
    make.CalibrationWithdrawalFactory(calibration=wrong)
    sign_in(desk, live_server.url, PLANNER, "Due")
    for address in (
        "/instruments/",
        "/instruments/?text=nowhere",
        f"/instruments/{meter.pk}/?day=2027-05-10",
        f"/calibrations/{calibration.pk}/correct/",
    ):
        answer = desk.goto(live_server.url + address)
        assert answer and answer.status == 200
        holds(desk)


def test_a_list_is_sorted_by_keyboard_and_keeps_its_filters_and_its_file(
    desk: Page, live_server, known: Record
) -> None:
    for serial in ("M 2", "m 10", "M 1"):
        make.InstrumentFactory(firm=known.firm, serial=serial, description="beck gauge")
    make.InstrumentFactory(firm=known.firm, serial="Z 9", description="clamp")
    sign_in(desk, live_server.url, PLANNER, "Due")
    desk.goto(f"{live_server.url}/instruments/?text=gauge")
    head = desk.get_by_role("columnheader", name="Serial number")
    rows = desk.get_by_role("rowheader")
    for way, order in (("ascending", ["M 1", "M 2", "m 10"]), ("descending", ["m 10", "M 2", "M 1"])):
        tab_to(desk, "Serial number")
        desk.keyboard.press("Enter")
        expect(head).to_have_attribute("aria-sort", way)
        expect(rows).to_have_text(order)
    desk.get_by_label("State").select_option("never calibrated")
    desk.get_by_role("button", name="Show", exact=True).click()
    expect(head).to_have_attribute("aria-sort", "descending")
    expect(rows).to_have_text(["m 10", "M 2", "M 1"])
    with desk.expect_download() as got:
        desk.get_by_role("link", name="CSV").click()
    lines = Path(got.value.path()).read_text("utf-8-sig").splitlines()[1:]
    assert [line.split('"')[1] for line in lines] == ["m 10", "M 2", "M 1"]
    desk.get_by_role("link", name="In the usual order").click()
    expect(head).not_to_have_attribute("aria-sort", "descending")
    expect(desk.get_by_label("State")).to_have_value("never calibrated")
