"""The life of an instrument: what counts of its calibrations, on which day, and by what was known when."""

from dataclasses import replace
from datetime import date, timedelta
from io import BytesIO

import pytest

from inspections import instrument_list
from inspections.actions import booking, instruments
from inspections.actions.instruments import Certificate, InstrumentRefused
from inspections.imports.instruments import add_typed
from inspections.models import Calibration, Instrument
from sites import filestore, log
from sites.imports import ImportRefused
from sites.models import LogEntry, Person
from sites.uploads import taken
from tests import factories as make

pytestmark = pytest.mark.django_db
AT = make.AT  # 4 Jan 2027
FIRST = Certificate("C-1", date(2026, 3, 1), date(2027, 2, 28), "Example Laboratory")
ROW = {
    "serial": "77-1", "description": "low-resistance ohmmeter", "range": "25 mΩ", "step": "0.01 mΩ",
    "percent_of_reading": "0.5", "digits": "2",
}  # fmt: skip


@pytest.fixture
def by() -> Person:
    return make.PersonFactory()


@pytest.fixture
def instrument(by: Person) -> Instrument:
    return add_typed(make.FirmFactory(), ROW, by=by, at=AT)


def state(instrument: Instrument, day: date, **known: object) -> str:
    rows = instrument_list.with_state(Instrument.objects.filter(pk=instrument.pk), day, **known)  # type: ignore[arg-type]
    return instrument_list.state_of(rows.get(), day)


def calibrated(instrument: Instrument, by: Person, stated: Certificate = FIRST) -> Calibration:
    return instruments.calibrate(instrument, stated, file=None, by=by, at=AT)


def test_it_is_added_with_the_checks_of_a_file(by: Person) -> None:
    firm = make.FirmFactory()
    with pytest.raises(ImportRefused) as refused:
        add_typed(firm, {**ROW, "step": "1 Ω", "digits": "many"}, by=by, at=AT)
    assert {fault.column for fault in refused.value.faults} == {"digits"}
    assert not Instrument.objects.exists()
    instrument = add_typed(firm, ROW, by=by, at=AT)
    assert [str(row.top_ohm) for row in instrument.ranges.all()] == ["0.025"]
    with pytest.raises(ImportRefused, match="on record already"):
        add_typed(firm, ROW, by=by, at=AT)
    assert LogEntry.objects.filter(action="instrument recorded").count() == 1


@pytest.mark.parametrize(
    ("day", "word"),
    [
        (date(2026, 2, 28), "never calibrated"),
        (date(2026, 3, 1), "in calibration"),
        (date(2026, 12, 30), "in calibration"),
        (date(2026, 12, 31), "calibration ends soon"),  # 59 days are left
        (date(2027, 2, 28), "calibration ends soon"),  # the last day counts
        (date(2027, 3, 1), "out of calibration"),
    ],
)
def test_its_state_follows_from_its_calibrations(
    instrument: Instrument, by: Person, day: date, word: str
) -> None:
    calibrated(instrument, by)
    assert state(instrument, day) == word
    found = instrument_list.with_state(Instrument.objects.all(), day)
    for other in instrument_list.STATES:
        assert instrument_list.in_state(found, other, day).exists() == (other == word), other


def test_a_correction_takes_the_place_of_the_wrong_row_which_stays(
    instrument: Instrument, by: Person
) -> None:
    wrong = calibrated(instrument, by)
    right = replace(FIRST, valid_until=date(2026, 8, 31))
    later = AT + timedelta(days=3)
    with pytest.raises(InstrumentRefused, match="why"):
        instruments.correct(wrong, right, file=None, reason="", by=by, at=later)
    row = instruments.correct(wrong, right, file=None, reason="six months, not twelve", by=by, at=later)
    assert list(Calibration.objects.standing()) == [row]
    assert Calibration.objects.get(pk=wrong.pk).valid_until == FIRST.valid_until
    october = date(2026, 10, 1)
    assert state(instrument, october) == "out of calibration"
    assert state(instrument, october, known_by=later) == "in calibration"  # as known before the correction
    with pytest.raises(InstrumentRefused, match="corrected or withdrawn already"):
        instruments.correct(wrong, right, file=None, reason="again", by=by, at=later)
    assert list(log.faults(instrument.firm)) == []


def test_a_withdrawn_certificate_counts_no_more_and_may_be_recorded_again(
    instrument: Instrument, by: Person
) -> None:
    row = calibrated(instrument, by)
    instruments.withdraw(row, reason="of the other meter", by=by, at=AT)
    assert state(instrument, date(2026, 6, 1)) == "never calibrated"
    again = calibrated(instrument, by, replace(FIRST, calibrated_on=date(2026, 4, 1)))
    assert list(Calibration.objects.standing()) == [again]
    with pytest.raises(InstrumentRefused, match="stands on record already"):
        calibrated(instrument, by)


@pytest.mark.parametrize(
    ("days", "field"),
    [
        ((date(2027, 1, 6), date(2028, 1, 6)), "calibrated_on"),  # two days after the act: nowhere yet
        ((date(2026, 5, 2), date(2026, 5, 1)), "valid_until"),
        ((date(2026, 5, 2), date(2072, 5, 1)), "valid_until"),  # 2027 mistyped
        ((date(1926, 5, 2), date(2027, 5, 1)), "valid_until"),
    ],
)
def test_days_that_cannot_be_are_refused_beside_their_field(
    instrument: Instrument, by: Person, days: tuple[date, date], field: str
) -> None:
    with pytest.raises(InstrumentRefused) as refused:
        calibrated(instrument, by, replace(FIRST, calibrated_on=days[0], valid_until=days[1]))
    assert refused.value.field == field


def test_a_certificate_of_today_is_taken_where_the_day_has_begun_earlier(
    instrument: Instrument, by: Person
) -> None:
    """On 4 Jan at 20:00 UTC it is 5 Jan in Auckland, where the laboratory may stand."""
    stated = replace(FIRST, calibrated_on=date(2027, 1, 5), valid_until=date(2028, 1, 5))
    row = instruments.calibrate(instrument, stated, file=None, by=by, at=AT.replace(hour=20))
    assert row.calibrated_on == date(2027, 1, 5)


def test_the_certificate_is_kept_byte_for_byte(instrument: Instrument, by: Person) -> None:
    content = b"range;as found;as left\n25;within;within\n"
    file = taken(BytesIO(content), "C-1.csv")
    row = instruments.calibrate(instrument, FIRST, file=file, by=by, at=AT)
    assert filestore.get(row.file.sha256) == content
    assert row.file.sha256 in LogEntry.objects.get(action="calibration recorded").payload
    right = replace(FIRST, valid_until=date(2026, 8, 31))
    later = instruments.correct(row, right, file=None, reason="six months", by=by, at=AT)
    assert later.file.sha256 == row.file.sha256  # no need to hand the same certificate in again


def test_a_retired_instrument_is_not_booked_and_not_offered(instrument: Instrument, by: Person) -> None:
    from inspections.forms.planning import instruments_of

    calibrated(instrument, by)
    day = date(2027, 1, 10)
    assert list(booking.instrument_gaps(day, [instrument])) == []
    assert [one for one, _ in instruments_of(instrument.firm, day)] == [instrument]
    instruments.retire(instrument, on=date(2027, 1, 8), reason="dropped", by=by, at=AT)
    assert state(instrument, date(2027, 1, 7)) == "calibration ends soon"
    assert state(instrument, date(2027, 1, 8)) == "retired"
    assert "is retired since 8 Jan 2027" in next(iter(booking.instrument_gaps(day, [instrument])))
    assert list(booking.instrument_gaps(date(2027, 1, 7), [instrument])) == []
    assert not instruments_of(instrument.firm, day)


def test_a_reading_is_judged_by_what_stands(instrument: Instrument, by: Person) -> None:
    """A withdrawn certificate is as good as none for a reading judged after it."""
    from inspections.actions import readings
    from inspections.models import Verdict
    from tests import story as told

    story = told.begin()
    row = story.range.instrument.calibrations.get()
    instruments.withdraw(row, reason="of another meter", by=by, at=told.ON_SITE - timedelta(days=1))
    visit = told.on_site(story)
    at = told.ON_SITE + timedelta(hours=1)
    readings.record(visit, [told.entry(story, story.points[0], "5.00", at)], by=story.inspector, at=at)
    assert Verdict.objects.get().outcome == "cannot be judged"
    assert Verdict.objects.get().calibration is None
