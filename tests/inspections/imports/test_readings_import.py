"""A day's readings from a file: kept as shown, judged at once, one log entry, and nothing of a bad file."""

import json
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections import evidence, proof
from inspections.actions import visits
from inspections.imports import Readings, withdraw
from inspections.imports.readings import COLUMNS
from inspections.models import DueDate, NoReading, Reading, Verdict
from reports import actions as reporting
from sites import filestore, imports, log
from sites.actions.register import renumber_point, retire_point
from sites.imports import ImportRefused
from sites.models import LogEntry
from tests import factories as f
from tests import story as told
from tests.counting import nothing_saved
from tests.inspections.imports.day import EVENING, HEADER, NOT_READ, ROW, begun, csv_of, faults_of, take

pytestmark = pytest.mark.django_db


def test_it_keeps_a_reading_as_the_display_showed_it() -> None:
    story, visit = begun()
    row = {
        "reading": "5.00",
        "temperature_accuracy": "1 K",
        "repeats": "5.01|4.99",
        "reversed": "-4.98",
        "null": "0.02 mΩ",
        "open_circuit_voltage": "6 V",
        "joint_state": "opened, closed again",
    }
    file = take(story, visit, csv_of(row))
    reading = Reading.objects.get()
    assert (reading.text, reading.unit, str(reading.value_ohm)) == ("5.00", "mΩ", "0.00500")
    assert (reading.repeats, reading.reversed_displays, reading.null_ohm) == (
        "5.01\n4.99",
        "-4.98",
        Decimal("0.00002"),
    )
    assert (reading.current_a, reading.temperature_c, reading.temperature_source) == (10, 21, "contact")
    assert (reading.temperature_accuracy_k, reading.open_circuit_v) == (1, 6)
    assert (reading.joint_state, reading.file, reading.by) == ("opened, closed again", file, story.inspector)
    assert (reading.at, reading.recorded_at) == (datetime(2027, 5, 3, 9, 20, tzinfo=UTC), EVENING)


def test_it_judges_each_reading_at_once() -> None:
    story, visit = begun()
    take(story, visit, csv_of({"point": "1"}, {"point": "2", "reading": "24.00"}, NOT_READ))
    outcomes = dict(Verdict.objects.values_list("reading__point__number", "outcome"))
    assert outcomes == {"1": "within limit", "2": "above limit"}
    assert NoReading.objects.get().words == "no scaffold"


def test_it_writes_one_log_entry_for_the_whole_file() -> None:
    story, visit = begun()
    before = LogEntry.objects.count()
    file = take(story, visit, csv_of({"point": "1"}, {"point": "2"}, NOT_READ))
    entry = LogEntry.objects.latest("number")
    assert (LogEntry.objects.count() - before, entry.action) == (1, "readings imported")
    facts = json.loads(entry.payload)["facts"]
    assert facts["created"] == {"visit": str(visit.identity), "readings": 2, "reasons": 1}
    assert (facts["sha256"], facts["rows"]) == (file.sha256, 3)
    assert list(log.faults(story.firm)) == []


@pytest.mark.parametrize(
    ("display", "value"),
    [
        ("OL", None),
        ("<0.01", None),
        (">25", None),
        ("--", None),
        ("0.00", "0.00000"),
        ("1,25", "0.00125"),
        ("-0.02", "-0.00002"),
    ],
)
def test_it_takes_what_displays_show(display: str, value: str | None) -> None:
    story, visit = begun()
    take(story, visit, csv_of({"reading": display}))
    reading = Reading.objects.get()
    shown = None if reading.value_ohm is None else format(reading.value_ohm, "f")
    assert (reading.text, shown) == (display, value)


def test_it_takes_fall_of_potential_with_positions() -> None:
    story, visit = begun()
    meter = f.InstrumentFactory(firm=story.firm, serial="2207")
    f.InstrumentRangeFactory(instrument=meter, text="200 Ω", top_ohm=Decimal(200), step_ohm=Decimal("0.1"))
    row = {
        **dict.fromkeys(("current", "temperature"), ""),
        "instrument": "2207",
        "range": "200 Ω",
        "unit": "ohm",
        "reading": "58.0",
        "method": "fall-of-potential",
        "temperature_source": "not taken",
        "positions": "52: 57,5|62: 58.0|72: 59.0",
    }
    take(story, visit, csv_of(row))
    reading = Reading.objects.get()
    assert (reading.positions, reading.unit) == ("52 57,5\n62 58.0\n72 59.0", "Ω")


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("unit", "V", "“V” is not a unit of resistance. Write µΩ, mΩ, Ω, kΩ or MΩ."),
        ("unit", "MΩ", "5.00 MΩ lies beyond the range 25 mΩ. Check the unit and the range."),
        ("unit", "Ω", "5.00 Ω lies beyond the range 25 mΩ. Check the unit and the range."),
        ("unit", "", "The cell is empty. A reading needs it."),
        ("reading", "5.0.0", "is not a plain number"),
        ("reading", "=1+4", "is not a plain number"),
        ("reading", "1.234,5", "has a point and a comma"),
        ("reading", "30.00", "lies beyond the range 25 mΩ"),
        ("range", "20 mΩ", "Instrument µ-7 has no range 20 mΩ. It has 25 mΩ."),
        ("range", "", "The cell is empty. A reading needs it."),
        ("method", "by eye", "“by eye” is not a method. Write two-wire, four-wire,"),
        ("current", "10", "10 has no unit."),
        ("current", "10 V", "is not a unit of current"),
        ("current", "-1 A", "is no test current: one lies between 0 and 1000 A"),
        ("current", "1001 A", "is no test current: one lies between 0 and 1000 A"),
        ("current", "0 mA", "Line 3, current: Without a current there is no value."),
        ("current_set", "0 A", "is not above zero"),
        ("current_set", "10000 A", "is no test current"),
        ("temperature", "301 °C", "Line 3, temperature: “301 °C” lies outside −100 to 300 °C"),
        ("temperature", "-101 °C", "lies outside −100 to 300 °C, where the law of metals holds"),
        ("temperature", "294 K", "is not a unit of temperature"),
        ("temperature_source", "", "Say how the temperature was taken: contact or air."),
        ("temperature_source", "not taken", "Say how the temperature was taken: contact or air."),
        ("temperature_source", "a guess", "is not a source of temperature"),
        ("temperature", "", "The source is contact, but no temperature is given."),
        ("instrument", "9999", "No instrument with the serial number 9999 is on record."),
        ("instrument", "", "The cell is empty. A reading needs it."),
        ("point", "77", "has no point 77. Check the number, or add the point to the register."),
        ("point", "", "The cell is empty. Write the number on the point's label."),
        ("point", "=1", "begins like a formula"),
        ("repeats", "5.01|x", "is not a plain number"),
        ("repeats", "5.01|--", "is not a number that a display shows"),
        ("reversed", "1|2|3", "At most 2 are taken."),
        ("null", "0.02", "0.02 has no unit"),
        ("null", "-0.02 mΩ", "Line 3, null: “-0.02 mΩ” is below zero, which no lead's resistance is."),
        ("positions", "52: 57.5", "Positions belong to the fall-of-potential method."),
        ("positions", "52 57.5", "is no position"),
        ("time", "3.5.2027 10:20", "is not a time. Write it such as 2027-05-03 10:20."),
        ("time", "2027-05-03 25:00", "There is no such time"),
        ("time", "2027-05-03", "is not a time"),
        ("time", "2027-05-03 20:20", "3 May 2027, 20:20 has not come yet."),
        (
            "time",
            "2027-05-03 08:59",
            "3 May 2027, 08:59 lies before the visit, on site since 3 May 2027, 09:00.",
        ),
        ("words", "@home", "begins like a formula"),
        ("no_reading", "not found", "The row gives both a reading and a reason for none."),
        ("no_reading", "tired", "“tired” is not a reason. Write not tested,"),
        ("reading", "", "The row gives neither a reading nor a reason for none."),
    ],
)
def test_it_names_a_bad_cell_and_saves_nothing(column: str, value: str, words: str) -> None:
    story, visit = begun()
    found = faults_of(story, visit, csv_of({"point": "2"}, {column: value}))
    assert any(fault.startswith("Line 3") and words in fault for fault in found), found


def test_no_current_flows_where_the_circuit_is_open() -> None:
    story, visit = begun()
    take(story, visit, csv_of({"reading": "OL", "current": "0 A"}))
    assert Verdict.objects.get().outcome == "above limit"


@pytest.mark.parametrize("temperature", ["-100 °C", "300 °C"])
def test_it_judges_a_metal_as_cold_and_as_hot_as_the_law_of_metals_reaches(temperature: str) -> None:
    story, visit = begun()
    take(story, visit, csv_of({"temperature": temperature}))
    assert Verdict.objects.get().corrected_ohm is not None


@pytest.mark.parametrize("column", ["unit", "range", "instrument", "current", "temperature"])
def test_it_wants_nothing_of_a_display_where_there_was_none(column: str) -> None:
    story, visit = begun()
    found = faults_of(story, visit, csv_of({**NOT_READ, column: ROW[column]}))
    assert found == [f"Line 2, {column}: The row gives no reading, so this cell must be empty."]


def test_it_names_a_point_that_is_there_twice() -> None:
    story, visit = begun()
    found = faults_of(story, visit, csv_of({}, {"point": "2"}, {"reading": "5.02"}))
    assert found == ["Line 4, point: Point 1 is there twice: line 2 has it already."]
    found = faults_of(story, visit, csv_of({"point": "3"}, NOT_READ))
    assert found == ["Line 3, point: Point 3 is there twice: line 2 has it already."]


def test_it_names_a_point_that_was_read_before() -> None:
    story, visit = begun()
    take(story, visit, csv_of({}))
    found = faults_of(story, visit, csv_of({"reading": "5.02"}))
    assert found == ["Line 2, point: Point 1 has been read at this visit already. Correct that reading."]


def test_it_takes_a_reading_of_a_point_that_had_a_reason_in_the_morning() -> None:
    story, visit = begun()
    take(story, visit, csv_of(NOT_READ))
    take(story, visit, csv_of({"point": "3", "time": "2027-05-03 15:00"}))
    assert faults_of(story, visit, csv_of({**NOT_READ, "words": "again"})) == [
        "Line 2, point: Point 3 has been read at this visit already. Correct that reading."
    ]


def test_it_says_what_an_old_number_is_called_now() -> None:
    story, visit = begun()
    renumber_point(story.points[0], number="1A", since=date(2027, 2, 1), by=story.planner, at=told.ON_SITE)
    found = faults_of(story, visit, csv_of({"point": "1"}))
    assert found == ["Line 2, point: Point 1 is now called 1A. Write 1A."]
    take(story, visit, csv_of({"point": "1A"}))
    assert Reading.objects.get().point == story.points[0]


def test_it_knows_the_number_of_the_day_of_the_visit() -> None:
    story, visit = begun()
    late = EVENING + timedelta(days=3)
    renumber_point(story.points[0], number="1A", since=date(2027, 5, 5), by=story.planner, at=late)
    take(story, visit, csv_of({"point": "1"}), at=late)
    assert Reading.objects.get().point == story.points[0]


def test_it_refuses_a_retired_point() -> None:
    story, visit = begun()
    retire_point(story.points[0], on=date(2027, 3, 1), reason="wall gone", by=story.planner, at=told.ON_SITE)
    found = faults_of(story, visit, csv_of({}))
    assert found == ["Line 2, point: Point 1 was retired on 1 Mar 2027. Leave the row out."]


def test_it_reads_the_new_point_where_a_retired_one_had_the_number() -> None:
    story, visit = begun()
    old = story.points[0]
    retire_point(old, on=date(2027, 3, 1), reason="moved", by=story.planner, at=told.ON_SITE)
    new = f.TestPointFactory(structure=story.structure, part=old.part, number="1", since=date(2027, 3, 1))
    take(story, visit, csv_of({}))
    assert Reading.objects.get().point == new


def test_it_refuses_a_point_that_stands_only_later() -> None:
    story, visit = begun()
    f.TestPointFactory(
        structure=story.structure, part=story.points[0].part, number="9", since=date(2027, 6, 1)
    )
    found = faults_of(story, visit, csv_of({"point": "9"}))
    assert found == ["Line 2, point: Point 9 stands only since 1 Jun 2027, after this visit."]


def test_it_does_not_know_another_firms_instrument_or_another_structures_point() -> None:
    story, visit = begun()
    strange = f.InstrumentRangeFactory(instrument=f.InstrumentFactory(serial="8888"))
    f.TestPointFactory(number="55")
    found = faults_of(story, visit, csv_of({"instrument": strange.instrument.serial}, {"point": "55"}))
    assert [fault.split(":")[0] for fault in found] == ["Line 2, instrument", "Line 3, point"]


def test_it_finds_a_range_however_its_unit_is_spelt() -> None:
    story, visit = begun()
    take(story, visit, csv_of({"range": "25 mohm"}, {"point": "2", "range": "0.025 Ω"}))
    assert set(Reading.objects.values_list("range", flat=True)) == {story.range.pk}


def test_it_names_all_bad_rows_at_once() -> None:
    story, visit = begun(6)
    rows = [{"point": str(n)} for n in range(1, 7)]
    rows[1].update(unit="V", instrument="9999")
    rows[3]["time"] = "yesterday"
    rows[5]["point"] = "66"
    found = faults_of(story, visit, csv_of(*rows))
    assert [fault.split(":")[0] for fault in found] == [
        "Line 3, unit", "Line 3, instrument", "Line 5, time", "Line 7, point"
    ]  # fmt: skip


def test_it_reads_the_same_bytes_at_any_separator() -> None:
    story, visit = begun()
    take(story, visit, csv_of({}, {"point": "2"}, separator="\t"))
    assert Reading.objects.count() == 2


def test_it_refuses_the_same_file_twice_at_one_visit() -> None:
    story, visit = begun()
    take(story, visit, csv_of({}))
    assert "was imported already: “day.csv”, 3 May 2027, by" in faults_of(story, visit, csv_of({}))[0]


def test_it_refuses_a_visit_of_another_firm_and_one_that_is_not_on_site() -> None:
    story, visit = begun()
    stranger = f.FirmFactory()
    with nothing_saved(), pytest.raises(ImportRefused, match="another firm"):
        imports.run(
            Readings(visit), firm=stranger, name="d", content=csv_of({}), by=story.inspector, at=EVENING
        )
    planned = told.plan(story, date(2027, 6, 1))
    assert "is planned. Readings are entered while it is on site" in faults_of(story, planned, csv_of({}))[0]


def test_it_counts_no_more_once_withdrawn_and_can_come_again() -> None:
    story, visit = begun()
    content = csv_of({}, NOT_READ)
    file = take(story, visit, content)
    withdraw(file, reason="wrong visit", by=story.planner, at=EVENING + timedelta(hours=1))
    assert Reading.objects.count() == 1
    assert not Reading.objects.standing().exists()
    assert not NoReading.objects.standing().exists()
    entry = LogEntry.objects.latest("number")
    assert entry.action == "readings import withdrawn"
    assert json.loads(entry.payload)["facts"]["undone"]["readings"] == 1
    take(story, visit, content, at=EVENING + timedelta(hours=2))
    assert Reading.objects.standing().count() == 1
    assert filestore.get(file.sha256) == content


def test_it_reckons_due_dates_again_when_withdrawn() -> None:
    story, visit = begun(1)
    file = take(story, visit, csv_of({}))
    left = EVENING + timedelta(hours=1)
    told.see_parts(visit, story.inspector, left)
    visits.complete_field_work(visit, left_at=left, by=story.inspector, at=left)
    assert DueDate.objects.get().due == date(2028, 5, 3)
    withdraw(file, reason="another building's sheet", by=story.planner, at=left)
    assert DueDate.objects.get().due != date(2028, 5, 3)


def test_it_stays_once_the_report_stands_on_it() -> None:
    story, visit = begun(1)
    file = take(story, visit, csv_of({}))
    left = EVENING + timedelta(hours=1)
    told.see_parts(visit, story.inspector, left)
    visit = visits.complete_field_work(visit, left_at=left, by=story.inspector, at=left)
    visit = visits.hand_in(visit, by=story.inspector, at=left)
    visit = visits.approve(visit, by=story.reviewer, at=left)
    reporting.authorise(visit, by=story.signatory, at=left)
    with nothing_saved(), pytest.raises(ImportRefused, match="its report stands on these readings"):
        withdraw(file, reason="wrong", by=story.planner, at=left)


@pytest.mark.parametrize(
    ("written", "instant"),
    [
        ("2026-10-25 00:59", datetime(2026, 10, 24, 23, 59, tzinfo=UTC)),
        (
            "2026-10-25 01:30",
            "showed 01:30 twice. Write the time with its offset, such as 2026-10-25 01:30+01:00.",
        ),
        ("2026-10-25 01:30+01:00", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        ("2026-10-25T01:30:00Z", datetime(2026, 10, 25, 1, 30, tzinfo=UTC)),
        ("2026-10-25 02:00", datetime(2026, 10, 25, 2, 0, tzinfo=UTC)),
    ],
)
def test_it_reads_local_time_where_the_clock_goes_back(written: str, instant: datetime | str) -> None:
    check_clock(datetime(2026, 10, 24, 20, 0, tzinfo=UTC), written, instant)


@pytest.mark.parametrize(
    ("written", "instant"),
    [
        ("2027-03-28 00:59", datetime(2027, 3, 28, 0, 59, tzinfo=UTC)),
        ("2027-03-28 01:00", "On 28 Mar 2027 the clock went past 01:00: there was no such time."),
        ("2027-03-28 01:59", "there was no such time"),
        ("2027-03-28 02:00", datetime(2027, 3, 28, 1, 0, tzinfo=UTC)),
    ],
)
def test_it_reads_local_time_where_the_clock_goes_forward(written: str, instant: datetime | str) -> None:
    check_clock(datetime(2027, 3, 27, 20, 0, tzinfo=UTC), written, instant)


def check_clock(arrived: datetime, written: str, instant: datetime | str) -> None:
    story = told.begin(1)
    visit = told.on_site(story, arrived)
    content, at = csv_of({"time": written}), arrived + timedelta(days=1)
    if isinstance(instant, str):
        assert instant in faults_of(story, visit, content, at=at)[0]
        return
    take(story, visit, content, at=at)
    assert Reading.objects.get().at == instant


def test_it_asks_the_database_no_more_for_many_points_than_for_few() -> None:
    asked = []
    for count in (5, 300):
        story, visit = begun(count)
        with CaptureQueriesContext(connection) as queries:
            take(story, visit, csv_of(*({"point": str(n)} for n in range(1, count + 1))))
        # Inserts come in batches; what is looked up must not grow with the rows.
        asked.append(sum(1 for query in queries if query["sql"].startswith("SELECT")))
    assert asked[1] <= asked[0]


def test_it_undoes_everything_where_the_writing_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    story, visit = begun()

    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(log, "record", fail)
    before = Reading.objects.count(), LogEntry.objects.count()
    with pytest.raises(ZeroDivisionError):
        take(story, visit, csv_of({}))
    assert (Reading.objects.count(), LogEntry.objects.count()) == before


def test_these_tests_use_every_column_there_is() -> None:
    assert set(HEADER) == {column.name for column in COLUMNS}


def test_it_keeps_what_was_set_when_the_leads_were_nulled_how_long_it_settled_and_what_was_left_out() -> None:
    story, visit = begun()
    row = {"null": "0.10 mΩ", "null_time": "2027-05-03 09:05", "current": "9.6 A", "current_set": "10 A"}
    more = {"waited": "15 s", "left_out": "7.41: clamp slipped|OL: lead  off"}
    take(story, visit, csv_of({**row, **more}))
    reading = Reading.objects.get()
    assert (reading.set_current_a, reading.current_a, reading.waited_s) == (10, Decimal("9.6"), 15)
    assert reading.null_taken_at == datetime(2027, 5, 3, 8, 5, tzinfo=UTC)
    assert reading.dropped == "7.41 clamp slipped\nOL lead off"
    shown = " ".join(line.text for line in evidence.judge_again(reading.verdict).lines).replace("\u00a0", " ")
    for words in (
        "It had settled for 15 s", "set to 10 A, achieved 9.6 A", "Left out: 7.41, because: clamp slipped",
        "null was taken 75 min before",
    ):  # fmt: skip
        assert words in shown
    assert list(proof.verdict_faults()) == []


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"left_out": "7.41"}, "gives no reason. Write display, colon and reason"),
        ({"left_out": "7,4,1: slipped"}, "7,4,1"),
        ({"left_out": "7.41 7.42: slipped"}, "is not what a display shows"),
        ({"null_time": "2027-05-03 09:05"}, "but no null. Fill in both or neither."),
        ({"null": "0.1 mΩ", "null_time": "2027-05-04 09:05"}, "has not come yet"),
        ({"null": "0.1 mΩ", "null_time": "2027-03-28 01:30"}, "2027"),
        ({"current_set": "0 A"}, "not above zero"),
        ({"waited": "-1 s"}, "below 0"),
    ],
)
def test_it_names_what_is_wrong_with_how_it_was_read(cells: dict[str, str], words: str) -> None:
    story, visit = begun()
    found = faults_of(story, visit, csv_of(cells))
    assert len(found) == 1 and words in found[0]
