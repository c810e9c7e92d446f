"""Instruments from a file: a row a range, further rows for further calibrations."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from inspections.imports import Instruments, withdraw
from inspections.models import Calibration, Instrument, InstrumentRange
from sites import imports
from sites.imports import ImportRefused
from sites.models import Firm, ImportedFile
from tests import factories as f
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
HEADER = "serial,description,range,step,percent_of_reading,digits,certificate,calibrated_on,valid_until"
FIRST = "4101,micro-ohmmeter,25 mΩ,0.01 mΩ,0.5,2,3101,2027-01-10,2028-01-09"


def take(firm: Firm, *rows: str, at: object = f.AT) -> ImportedFile:
    content = "\n".join([HEADER, *rows, ""]).encode()
    by = f.PersonFactory()
    return imports.run(Instruments(), firm=firm, name="instruments.csv", content=content, by=by, at=at)  # type: ignore[arg-type]


def faults_of(firm: Firm, *rows: str) -> list[str]:
    by = f.PersonFactory()
    content = "\n".join([HEADER, *rows, ""]).encode()
    with nothing_saved(), pytest.raises(ImportRefused) as caught:
        imports.run(Instruments(), firm=firm, name="i.csv", content=content, by=by, at=f.AT)
    return [str(fault) for fault in caught.value.faults]


def test_it_makes_an_instrument_with_ranges_and_a_calibration() -> None:
    firm = f.FirmFactory()
    take(
        firm,
        FIRST,
        "4101,,2.5 mΩ,1 µΩ,0.5,2,,,",
        "4101,micro-ohmmeter,250 mΩ,0.1 mΩ,0.5,2,3101,2027-01-10,2028-01-09",
    )
    instrument = Instrument.objects.get()
    assert (instrument.serial, instrument.description) == ("4101", "micro-ohmmeter")
    assert [(one.text, one.top_ohm, one.step_ohm) for one in instrument.ranges.all()] == [
        ("2.5 mΩ", Decimal("0.0025"), Decimal("0.000001")),
        ("25 mΩ", Decimal("0.025"), Decimal("0.00001")),
        ("250 mΩ", Decimal("0.25"), Decimal("0.0001")),
    ]
    calibration = Calibration.objects.get()
    assert (calibration.certificate, calibration.valid_until) == ("3101", date(2028, 1, 9))


def test_it_adds_next_years_calibration_to_what_stands() -> None:
    firm = f.FirmFactory()
    take(firm, FIRST)
    take(firm, "4101,micro-ohmmeter,,,,,3108,2028-01-08,2029-01-07", at=f.AT + timedelta(days=365))
    assert (Instrument.objects.count(), InstrumentRange.objects.count(), Calibration.objects.count()) == (
        1,
        1,
        2,
    )


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (
            "4101,other meter,,,,,3108,2028-01-08,2029-01-07",
            "is a “micro-ohmmeter” so far, here a “other meter”",
        ),
        ("4101,,25 mΩ,0.1 mΩ,0.5,2,,,", "The range 25 mΩ of instrument 4101 is on record with another step"),
        (
            "4101,,,,,,3101,2027-01-10,2028-06-09",
            "Certificate 3101 of instrument 4101 is on record, from 10 Jan 2027",
        ),
    ],
)
def test_it_names_a_contradiction_with_the_record(row: str, words: str) -> None:
    firm = f.FirmFactory()
    take(firm, FIRST)
    assert any(words in fault for fault in faults_of(firm, row))


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("9,,25 mΩ,0.01 mΩ,0.5,2,,,", "Instrument 9 is new. Say what it is."),
        ("9,meter,,,,,,,", "neither a range nor a calibration"),
        ("9,meter,25 mΩ,,0.5,2,,,", "Line 2, step: The cell is empty, but range is given."),
        ("9,meter,,,,,55,,", "Line 2, calibrated_on: The cell is empty, but certificate is given."),
        ("9,meter,25 mΩ,30 mΩ,0.5,2,,,", "The step is larger than the range."),
        ("9,meter,25 V,0.01 mΩ,0.5,2,,,", "is not a unit of resistance"),
        ("9,meter,25 mΩ,0.01 mΩ,-0.5,2,,,", "The percentage -0.5 is out of range"),
        ("9,meter,,,,,55,2028-01-10,2027-01-09", "A calibration cannot end before the day it was made."),
        ("9,meter,,,,,55,2026-01-10,2072-01-09", "10 Jan 2026 to 9 Jan 2072 is more than 10 years."),
        ("9,=meter,25 mΩ,0.01 mΩ,0.5,2,,,", "begins like a formula"),
    ],
)
def test_it_names_a_bad_row(row: str, words: str) -> None:
    assert any(words in fault for fault in faults_of(f.FirmFactory(), row))


def test_it_knows_no_other_firms_instrument() -> None:
    take(f.FirmFactory(), FIRST)
    take(f.FirmFactory(), FIRST)
    assert Instrument.objects.count() == 2


def test_it_is_not_withdrawn() -> None:
    file = take(f.FirmFactory(), FIRST)
    with nothing_saved(), pytest.raises(ImportRefused, match="Enter a later calibration instead"):
        withdraw(file, reason="wrong", by=file.by, at=f.AT)
