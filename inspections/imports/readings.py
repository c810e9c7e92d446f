"""A day's readings at one visit: a row for each point, read or with the reason why not."""

from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from inspections.actions import due
from inspections.actions.entries import NewNoReading, NewReading
from inspections.actions.readings import EntryRefused, open_visit, record
from inspections.calculations import units
from inspections.calculations.display import NUMBER, UNDER, parse_display
from inspections.imports import cells
from inspections.models import Instrument, InstrumentRange, NoReading, Reading, Reason, Visit, VisitState
from inspections.rules.judging.facts import FALL_OF_POTENTIAL, METHODS, NOT_TAKEN, TEMPERATURE_SOURCES
from sites.actions.register import shown
from sites.imports import Column, Faults, Importer, Row, explained, row_of
from sites.imports.cells import listed, one_of, text
from sites.imports.faults import refused
from sites.imports.register.columns import point_number
from sites.models import Firm, ImportedFile, ImportKind, Person, PointNumber, TestPoint

# A display cannot show much more than its range's top; a reading beyond it was taken down wrongly.
OVERSHOOT = Decimal("1.1")

# Displays that a current must have flowed for; none flows where the circuit is open.
VALUED = (NUMBER, UNDER)

# What a reading's point is asked for; the rest is left in the database.
POINT = ("structure_id", "part_id", "quantity", "number", "since", "retired_on")

ONLY_WITH_READING = (
    "unit",
    "range",
    "method",
    "instrument",
    "current",
    "current_set",
    "temperature",
    "temperature_accuracy",
    "repeats",
    "reversed",
    "null",
    "null_time",
    "waited",
    "left_out",
    "open_circuit_voltage",
    "joint_state",
    "positions",
)
NEEDED_WITH_READING = ("unit", "range", "method", "instrument")

COLUMNS = (
    Column("point", point_number(), True, True, "Write the number on the point's label."),
    Column("reading", cells.display, True, meaning="As the display showed it: 0.46, OL, <0.01 or --."),
    Column("unit", cells.ohm_unit, True, meaning="µΩ, mΩ, Ω, kΩ or MΩ."),
    Column("range", text(24), True, meaning="As it stands with the instrument, such as 25 mΩ."),
    Column("method", one_of("a method", METHODS), True),
    Column("current", cells.test_current, True, meaning="Such as 10 A; empty if not known."),
    Column("temperature", cells.metal_temperature, True, meaning="Such as 21 °C; empty if not taken."),
    Column("temperature_source", one_of("a source of temperature", TEMPERATURE_SOURCES), True),
    Column("instrument", text(60), True, meaning="Its serial number."),
    Column("time", cells.time, True, True, "Write the time at the site, such as 2027-05-03 10:20."),
    Column(
        "current_set",
        cells.set_current,
        meaning="What the instrument was set to; current is what flowed.",
    ),
    Column("temperature_accuracy", cells.above_zero("temperature difference"), meaning="Such as 1 K."),
    Column("repeats", cells.displays(50), meaning="Further displays: 0.46|0.47."),
    Column(
        "reversed", cells.displays(2), meaning="With the current reversed: -0.44; or that and forward again."
    ),
    Column("null", cells.lead_null, meaning="The leads' resistance to subtract, such as 0.02 Ω."),
    Column(
        "null_time", cells.time, meaning="When the leads were nulled, at the site, such as 2027-05-03 08:10."
    ),
    Column(
        "waited", cells.quantity("time", Decimal(0)), meaning="How long the display settled, such as 15 s."
    ),
    Column(
        "left_out", cells.dropped, meaning="Displays left out, each with its reason: 7.41: clamp slipped."
    ),
    Column("open_circuit_voltage", cells.quantity("voltage", Decimal(0)), meaning="Such as 6 V."),
    Column("joint_state", text(60)),
    Column(
        "positions", cells.positions, meaning="Fall of potential, in percent: 52: 57.5|62: 58.0|72: 59.0."
    ),
    Column("no_reading", one_of("a reason", Reason), meaning="Why the point was not read."),
    Column("words", text(400), meaning="What stood in the way, and what would help."),
)


class Readings(Importer):
    """Readings of one visit, judged as they come in."""

    kind = ImportKind.READINGS
    columns = COLUMNS

    def __init__(self, visit: Visit) -> None:
        self.visit = visit
        self.readings: list[NewReading] = []
        self.no_readings: list[NewNoReading] = []

    def lock(self, firm: Firm) -> None:
        with explained(EntryRefused):
            self.visit = open_visit(self.visit)
        if self.visit.firm_id != firm.pk:
            raise refused("This visit belongs to another firm.")

    def same_place(self, earlier: QuerySet[ImportedFile]) -> QuerySet[ImportedFile]:
        file = OuterRef("pk")
        return earlier.filter(
            Exists(Reading.objects.filter(file=file, visit=self.visit))
            | Exists(NoReading.objects.filter(file=file, visit=self.visit))
        )

    def check(self, firm: Firm, rows: list[Row], faults: Faults, *, at: datetime) -> None:
        entries = _Entries(self.visit, rows, faults, at)
        for row in rows:
            entry = entries.of(row)
            if isinstance(entry, NewReading):
                self.readings.append(entry)
            elif entry is not None:
                self.no_readings.append(entry)

    def write(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        with explained(EntryRefused):
            record(self.visit, self.readings, self.no_readings, by=by, at=at, file=file)
        return {
            "visit": str(self.visit.identity),
            "readings": len(self.readings),
            "reasons": len(self.no_readings),
        }

    def undo(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        due.refresh([self.visit.structure_id], at=at)
        readings, reasons = file.readings.count(), file.no_readings.count()
        return {"visit": str(self.visit.identity), "readings": readings, "reasons": reasons}


class WithdrawnReadings(Readings):
    """The importer that withdraws: it finds the visit from the file, and takes any visit not yet issued."""

    def __init__(self, file: ImportedFile) -> None:
        visits = Visit.objects.filter(Q(readings__file=file) | Q(no_readings__file=file))
        super().__init__(visits.distinct().get())

    def lock(self, firm: Firm) -> None:
        settled = (VisitState.APPROVED, VisitState.ISSUED, VisitState.AMENDING)
        states = [state for state in VisitState if state not in settled]
        try:
            self.visit = open_visit(self.visit, states=states)
        except EntryRefused as fault:
            raise refused(
                f"Visit {self.visit.number} is {self.visit.state}, and its report stands on these readings. "
                "Correct single readings, or amend the report."
            ) from fault


def typed_entry(
    visit: Visit, told: Mapping[str, str], faults: Faults, *, at: datetime, correcting: Reading | None = None
) -> NewReading | NewNoReading | None:
    """One entry typed on a page, from the same cells as a row of a file and checked the same way.

    told: cells by column; correcting: the reading that it replaces
    Returns: None where something is wrong, named in ``faults`` by its column
    """
    row = row_of(told, COLUMNS, faults)
    return _Entries(visit, [row], faults, at, correcting).of(row)


class _Entries:
    """Turns rows into entries, with everything they are held against fetched once."""

    def __init__(
        self, visit: Visit, rows: list[Row], faults: Faults, at: datetime, correcting: Reading | None = None
    ) -> None:
        self._visit, self._faults, self._at = visit, faults, at
        self._zone = ZoneInfo(visit.structure.site.time_zone)
        self._day = _day_of(visit, self._zone, at)
        self._points = {point.pk: point for point in visit.structure.points.only(*POINT)}
        self._numbers, self._once = _numbers(visit, self._day, self._points)
        self._instruments = _instruments(visit, rows)
        self._ranges: dict[tuple[str, str], InstrumentRange | str] = {}
        self._times: dict[datetime, datetime | str] = {}
        self._values: dict[tuple[str, str], Decimal | None] = {}
        self._lines: dict[int, int] = {}
        standing = {"visit": visit}
        self._read = set(Reading.objects.standing().filter(**standing).values_list("point", flat=True))
        self._read -= {correcting.point_id} if correcting else set()
        self._explained = set(NoReading.objects.standing().filter(**standing).values_list("point", flat=True))

    def of(self, row: Row) -> NewReading | NewNoReading | None:
        """The entry of a row, or None after naming what is wrong with it."""
        before = len(self._faults)
        point = self._point(row)
        at = self._instant(row)
        is_reading = self._is_reading(row)
        found = self._range(row) if is_reading else None
        if is_reading is not None:
            self._check_cells(row, is_reading)
            self._check_once(row, point, is_reading)
        if row.bad or len(self._faults) > before or point is None or at is None:
            return None
        if found is None:
            return NewNoReading(point=point, reason=row["no_reading"], at=at, words=row["words"] or "")
        nulled = self._null_instant(row, at)
        if self._check_top(row, found) or len(self._faults) > before:
            return None
        return _new_reading(row, point, found, at, nulled)

    def _fault(self, row: Row, column: str | None, sentence: str) -> None:
        self._faults.add(row.line, column, sentence)

    def _is_reading(self, row: Row) -> bool | None:
        """Whether the row gives a reading; None where it says neither or both."""
        reading = row["reading"] is not None or "reading" in row.bad
        reason = row["no_reading"] is not None or "no_reading" in row.bad
        if reading == reason:
            said = (
                "both a reading and a reason for none"
                if reading
                else "neither a reading nor a reason for none"
            )
            self._fault(row, None, f"The row gives {said}. Give one of the two.")
            return None
        return reading

    def _point(self, row: Row) -> TestPoint | None:
        number = row["point"]
        if number is None:
            return None
        point = self._numbers.get(number)
        if point is None:
            self._fault(row, "point", self._unknown_point(number))
            return None
        if point.retired_on is not None and point.retired_on <= self._day:
            self._fault(
                row, "point", f"Point {number} was retired on {shown(point.retired_on)}. Leave the row out."
            )
        elif point.since > self._day:
            self._fault(
                row, "point", f"Point {number} stands only since {shown(point.since)}, after this visit."
            )
        return point

    def _unknown_point(self, number: str) -> str:
        if once := self._once.get(number):
            return f"Point {number} is now called {once.number}. Write {once.number}."
        return f"{self._visit.structure} has no point {number}. Check the number, or add the point to the register."

    def _check_once(self, row: Row, point: TestPoint | None, is_reading: bool) -> None:
        if point is None:
            return
        before = self._lines.setdefault(point.pk, row.line)
        if before != row.line:
            self._fault(row, "point", f"Point {row['point']} is there twice: line {before} has it already.")
        elif point.pk in self._read:
            self._fault(
                row,
                "point",
                f"Point {row['point']} has been read at this visit already. Correct that reading.",
            )
        elif not is_reading and point.pk in self._explained:
            self._fault(row, "point", f"Point {row['point']} has a reason at this visit already.")

    def _check_cells(self, row: Row, is_reading: bool) -> None:
        if not is_reading:
            for column in ONLY_WITH_READING:
                if row[column] is not None:
                    self._fault(row, column, "The row gives no reading, so this cell must be empty.")
            return
        for column in NEEDED_WITH_READING:
            if row[column] is None and column not in row.bad:
                self._fault(row, column, "The cell is empty. A reading needs it.")
        if (
            row["current"] == 0
            and row["reading"] is not None
            and parse_display(row["reading"]).kind in VALUED
        ):
            self._fault(
                row,
                "current",
                "Without a current there is no value. Leave it empty if what flowed is not known.",
            )
        source, temperature = row["temperature_source"], row["temperature"]
        if temperature is not None and source in (None, NOT_TAKEN) and "temperature_source" not in row.bad:
            self._fault(row, "temperature_source", "Say how the temperature was taken: contact or air.")
        if temperature is None and source not in (None, NOT_TAKEN) and "temperature" not in row.bad:
            self._fault(row, "temperature", f"The source is {source}, but no temperature is given.")
        if row["positions"] is not None and row["method"] not in (None, FALL_OF_POTENTIAL):
            self._fault(row, "positions", "Positions belong to the fall-of-potential method.")

    def _instant(self, row: Row) -> datetime | None:
        written = row["time"]
        if written is None:
            return None
        if written not in self._times:
            self._times[written] = self._placed(written)
        found = self._times[written]
        if isinstance(found, str):
            self._fault(row, "time", found)
            return None
        return found

    def _null_instant(self, row: Row, at: datetime) -> datetime | None:
        """When the leads were nulled: any time up to now, since a null of another day is asked about, not refused."""
        written = row["null_time"]
        if written is None:
            return None
        if row["null"] is None:
            self._fault(
                row, "null_time", "A time of the null is given, but no null. Fill in both or neither."
            )
            return None
        found = written if written.tzinfo is not None else local_instant(written, self._zone)
        if isinstance(found, str):
            self._fault(row, "null_time", found)
            return None
        if found > self._at:
            self._fault(
                row, "null_time", f"{self._clock(found)} has not come yet. Check the day and the time."
            )
            return None
        return found.astimezone(UTC)

    def _placed(self, written: datetime) -> datetime | str:
        at = written if written.tzinfo is not None else local_instant(written, self._zone)
        if isinstance(at, str):
            return at
        visit = self._visit
        if at > self._at:
            return f"{self._clock(at)} has not come yet. Check the day and the time."
        if visit.on_site_from is not None and at < visit.on_site_from:
            return (
                f"{self._clock(at)} lies before the visit, on site since {self._clock(visit.on_site_from)}."
            )
        if visit.on_site_until is not None and at > visit.on_site_until:
            return (
                f"{self._clock(at)} lies after the visit, on site until {self._clock(visit.on_site_until)}."
            )
        return at.astimezone(UTC)

    def _clock(self, at: datetime) -> str:
        local = at.astimezone(self._zone)
        return f"{shown(local.date())}, {local:%H:%M}"

    def _range(self, row: Row) -> InstrumentRange | None:
        serial, written = row["instrument"], row["range"]
        if serial is None:
            return None
        instrument = self._instruments.get(serial)
        if instrument is None:
            self._fault(row, "instrument", f"No instrument with the serial number {serial} is on record.")
            return None
        if written is None:
            return None
        if (serial, written) not in self._ranges:
            self._ranges[serial, written] = _find_range(instrument, written)
        found = self._ranges[serial, written]
        if isinstance(found, str):
            self._fault(row, "range", found)
            return None
        return found

    def _check_top(self, row: Row, found: InstrumentRange) -> bool:
        """Whether the display shows more than the range can; that is a fault."""
        value = self._ohm(row["reading"], row["unit"])
        if value is None or value <= found.top_ohm * OVERSHOOT:
            return False
        self._fault(
            row,
            "reading",
            f"{row['reading']} {row['unit']} lies beyond the range {found.text}. Check the unit and the range.",
        )
        return True

    def _ohm(self, shown_text: str, unit: str) -> Decimal | None:
        if (shown_text, unit) not in self._values:
            number = parse_display(shown_text).number
            factor = units.factor_to_si(unit, units.RESISTANCE)
            self._values[shown_text, unit] = None if number is None else number * factor
        return self._values[shown_text, unit]


def local_instant(wall: datetime, zone: ZoneInfo) -> datetime | str:
    """The instant of a wall time at a site, or the sentence why it names none or two.

    >>> local_instant(datetime(2027, 3, 28, 1, 30), ZoneInfo("Europe/London"))
    'On 28 Mar 2027 the clock went past 01:30: there was no such time. Write the time with its offset.'
    """
    first, second = wall.replace(tzinfo=zone, fold=0), wall.replace(tzinfo=zone, fold=1)
    if first.utcoffset() == second.utcoffset():
        return first
    day, clock = shown(wall.date()), f"{wall:%H:%M}"
    if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != wall:
        return (
            f"On {day} the clock went past {clock}: there was no such time. Write the time with its offset."
        )
    example = first.isoformat(" ", "minutes")
    return f"On {day} the clock showed {clock} twice. Write the time with its offset, such as {example}."


def _day_of(visit: Visit, zone: ZoneInfo, at: datetime) -> date:
    return (visit.on_site_until or visit.on_site_from or at).astimezone(zone).date()


def _numbers(
    visit: Visit, day: date, points: dict[int, TestPoint]
) -> tuple[dict[str, TestPoint], dict[str, TestPoint]]:
    """Points by their number on a day, standing ones first; and points by numbers of any other time."""
    on_day = {pk: point.number for pk, point in points.items()}
    other: dict[str, TestPoint] = {}
    for point, numbers in _renumbered(visit).items():
        until_then = [number for number, since in numbers if since <= day]
        on_day[point] = until_then[-1] if until_then else numbers[0][0]
        other.update((number, points[point]) for number, _ in numbers)
    retired_first = sorted(on_day, key=lambda point: points[point].retired_on is None)
    return {on_day[point]: points[point] for point in retired_first}, other


def _renumbered(visit: Visit) -> dict[int, list[tuple[str, date]]]:
    """(number, since) of each point that has carried more than one, the earliest first."""
    here = PointNumber.objects.filter(point__structure=visit.structure_id)
    points = here.exclude(number=F("point__number")).values("point")
    found: dict[int, list[tuple[str, date]]] = {}
    rows = PointNumber.objects.filter(point__in=points).order_by("since", "recorded_at", "pk")
    for point, number, since in rows.values_list("point", "number", "since"):
        found.setdefault(point, []).append((number, since))
    return found


def _instruments(visit: Visit, rows: list[Row]) -> dict[str, Instrument]:
    serials = {row["instrument"] for row in rows} - {None}
    found = Instrument.objects.filter(firm=visit.firm_id).prefetch_related("ranges")
    # A day's work uses a handful; a file that names more is held against all of the firm's.
    if len(serials) <= 500:
        found = found.filter(serial__in=serials)
    return {instrument.serial: instrument for instrument in found}


def _find_range(instrument: Instrument, written: str) -> InstrumentRange | str:
    ranges = list(instrument.ranges.all())
    for one in ranges:
        if one.text == written:
            return one
    try:
        top = cells.above_zero("resistance")(written)
    except cells.CellFault:
        top = None
    for one in ranges:
        if top is not None and one.top_ohm == top:
            return one
    known = f"It has {listed(one.text for one in ranges)}." if ranges else "It has none on record."
    return f"Instrument {instrument.serial} has no range {written}. {known}"


def _new_reading(
    row: Row, point: TestPoint, found: InstrumentRange, at: datetime, nulled: datetime | None
) -> NewReading:
    return NewReading(
        point=point,
        range=found,
        text=row["reading"],
        unit=row["unit"],
        method=row["method"],
        at=at,
        current_a=row["current"],
        set_current_a=row["current_set"],
        temperature_c=row["temperature"],
        temperature_source=row["temperature_source"] or NOT_TAKEN,
        temperature_accuracy_k=row["temperature_accuracy"],
        repeats=row["repeats"] or (),
        reversed_displays=row["reversed"] or (),
        positions=row["positions"] or (),
        null_ohm=row["null"],
        null_taken_at=nulled,
        waited_s=row["waited"],
        dropped=row["left_out"] or (),
        open_circuit_v=row["open_circuit_voltage"],
        joint_state=row["joint_state"] or "",
    )


__all__ = ["COLUMNS", "Readings", "WithdrawnReadings", "local_instant", "typed_entry"]
