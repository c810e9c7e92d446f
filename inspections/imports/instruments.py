"""Instruments with their ranges and calibrations: a row for each range, or for a further calibration."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Prefetch

from inspections.actions.instruments import term_fault
from inspections.imports import cells
from inspections.imports.cells import Shown
from inspections.models import Calibration, Instrument, InstrumentRange
from sites import bulk, log
from sites.actions.register import shown
from sites.imports import Column, Faults, Importer, Row, row_of
from sites.imports.cells import between, day, text
from sites.imports.faults import refused
from sites.models import Firm, ImportedFile, ImportKind, Person

RANGE = ("range", "step", "percent_of_reading", "digits")
CALIBRATION = ("certificate", "calibrated_on", "valid_until")

COLUMNS = (
    Column("serial", text(60), True, True, "Write the serial number."),
    Column("description", text(200), True, meaning="What it is, such as low-resistance ohmmeter."),
    Column("range", cells.resistance_as_written(24), True, meaning="Its top, such as 25 mΩ."),
    Column("step", cells.above_zero("resistance"), True, meaning="The last digit's worth, such as 0.01 mΩ."),
    Column("percent_of_reading", between(0, 100, "The percentage"), True, meaning="A number, such as 0.5."),
    Column("digits", between(0, 1000, "The number of digits"), True, meaning="A number, such as 2."),
    Column("certificate", text(60), True, meaning="The certificate's number."),
    Column("calibrated_on", day, True),
    Column("valid_until", day, True, meaning="The last day on which the calibration holds."),
)


class Instruments(Importer):
    """A firm's instruments. What stands already may be named again if it agrees."""

    kind = ImportKind.INSTRUMENTS
    columns = COLUMNS

    def __init__(self) -> None:
        self._known: dict[str, Instrument] = {}
        self._new: dict[str, Instrument] = {}
        self._ranges: dict[tuple[str, Decimal], tuple[InstrumentRange, int]] = {}
        self._calibrations: dict[tuple[str, str], tuple[Calibration, int]] = {}

    def check(self, firm: Firm, rows: list[Row], faults: Faults, *, at: datetime) -> None:
        in_order = Prefetch("calibrations", Calibration.objects.order_by("pk"))
        found = Instrument.objects.filter(firm=firm).prefetch_related("ranges", in_order)
        self._known = {instrument.serial: instrument for instrument in found}
        for instrument in self._known.values():
            for one in instrument.ranges.all():
                self._ranges[instrument.serial, one.top_ohm] = one, 0
            for calibration in instrument.calibrations.all():  # a correction comes after what it corrects
                self._calibrations[instrument.serial, calibration.certificate] = calibration, 0
        for row in rows:
            if row["serial"] is not None:
                instrument = self._instrument(firm, row, faults, at)
                given = (
                    self._range(instrument, row, faults, at),
                    self._calibration(instrument, row, faults, at),
                )
                if not any(given):
                    faults.add(row.line, None, "The row gives neither a range nor a calibration.")

    def write(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        ranges = [one for one, line in self._ranges.values() if line]
        calibrations = [one for one, line in self._calibrations.values() if line]
        bulk.insert(Instrument, self._new.values())
        bulk.insert(InstrumentRange, ranges)
        bulk.insert(Calibration, calibrations)
        return {"instruments": len(self._new), "ranges": len(ranges), "calibrations": len(calibrations)}

    def undo(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        raise refused(
            "Instruments are not withdrawn with their file: readings may stand on them. "
            "Enter a later calibration instead."
        )

    def _instrument(self, firm: Firm, row: Row, faults: Faults, at: datetime) -> Instrument:
        serial, description = row["serial"], row["description"]
        instrument = self._known.get(serial)
        if instrument is None:
            instrument = Instrument(firm=firm, serial=serial, description=description or "", recorded_at=at)
            self._known[serial] = self._new[serial] = instrument
            if description is None and "description" not in row.bad:
                faults.add(row.line, "description", f"Instrument {serial} is new. Say what it is.")
        elif description not in (None, instrument.description):
            faults.add(
                row.line,
                "description",
                f"Instrument {serial} is a “{instrument.description}” so far, here a “{description}”. "
                "Make them agree.",
            )
        return instrument

    def _range(self, instrument: Instrument, row: Row, faults: Faults, at: datetime) -> bool:
        """Whether the row gives a range."""
        if not _together(row, RANGE, faults):
            return any(row[column] is not None or column in row.bad for column in RANGE)
        written: Shown = row["range"]
        if row["step"] > written.value:
            faults.add(row.line, "step", "The step is larger than the range. Check both units.")
            return True
        new = InstrumentRange(
            instrument=instrument,
            text=written.text,
            top_ohm=written.value,
            step_ohm=row["step"],
            percent_of_reading=row["percent_of_reading"],
            digits=row["digits"],
            recorded_at=at,
        )
        old, line = self._ranges.setdefault((instrument.serial, new.top_ohm), (new, row.line))
        if old is not new and _accuracy(old) != _accuracy(new):
            faults.add(
                row.line,
                "range",
                f"The range {old.text} of instrument {instrument.serial} is {_where(line)} with another step "
                "or accuracy. Make them agree.",
            )
        return True

    def _calibration(self, instrument: Instrument, row: Row, faults: Faults, at: datetime) -> bool:
        """Whether the row gives a calibration."""
        if not _together(row, CALIBRATION, faults):
            return any(row[column] is not None or column in row.bad for column in CALIBRATION)
        new = Calibration(instrument=instrument, recorded_at=at, **{name: row[name] for name in CALIBRATION})
        if fault := term_fault(new.calibrated_on, new.valid_until):
            faults.add(row.line, "valid_until", fault)
            return True
        old, line = self._calibrations.setdefault((instrument.serial, new.certificate), (new, row.line))
        if (old.calibrated_on, old.valid_until) != (new.calibrated_on, new.valid_until):
            faults.add(
                row.line,
                "certificate",
                f"Certificate {new.certificate} of instrument {instrument.serial} is {_where(line)}, "
                f"from {shown(old.calibrated_on)} to {shown(old.valid_until)}. Make them agree.",
            )
        return True


@transaction.atomic
def add_typed(firm: Firm, told: Mapping[str, str], *, by: Person, at: datetime) -> Instrument:
    """An instrument, a range or a calibration, typed as in a row of the instruments' file.

    Raises: ImportRefused with a fault for each cell, line 1; the same sentences as for a file
    """
    log.locked_head(firm)
    importer, faults = Instruments(), Faults()
    row = row_of(told, COLUMNS, faults)
    importer.check(firm, [row], faults, at=at)
    faults.refuse()
    counts = importer.write(None, by=by, at=at)  # type: ignore[arg-type]  # no file stands behind it
    if not any(counts.values()):
        raise refused("That stands on record already. Nothing was changed.", 1)
    instrument = Instrument.objects.get(firm=firm, serial=row["serial"])
    kept = {name: words for name, words in told.items() if words}
    log.record(firm, "instrument recorded", instrument, by=by, at=at, facts=kept)
    return instrument


def _together(row: Row, columns: tuple[str, ...], faults: Faults) -> bool:
    """Whether all of some cells are filled; a fault where only some are."""
    filled = [column for column in columns if row[column] is not None or column in row.bad]
    if filled and len(filled) < len(columns):
        for column in columns:
            if column not in filled:
                faults.add(
                    row.line, column, f"The cell is empty, but {filled[0]} is given. Fill both or neither."
                )
        return False
    return bool(filled) and not row.bad.intersection(columns)


def _accuracy(one: InstrumentRange) -> tuple[Decimal, Decimal, Decimal]:
    return one.step_ohm, one.percent_of_reading, one.digits


def _where(line: int) -> str:
    return f"in line {line}" if line else "on record"
