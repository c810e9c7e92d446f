"""One reading typed at its point, or why there is none: checked as a row of the file of a day's readings is."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, cast
from zoneinfo import ZoneInfo

from django import forms

from inspections.actions.entries import NewNoReading, NewReading
from inspections.calculations import units
from inspections.forms.case_fields import DisplayField
from inspections.imports.readings import typed_entry
from inspections.models import InstrumentRange, Reading, Reason, Visit
from inspections.rules.judging.facts import METHODS, NOT_TAKEN, TEMPERATURE_SOURCES
from inspections.tables import figures
from sites.forms.plain import PlainForm
from sites.imports import Faults
from sites.models import TestPoint

UNITS = ("µΩ", "mΩ", "Ω", "kΩ", "MΩ")
# Fields that are lists: a line on the page is a piece of the file's cell.
LISTS = ("repeats", "reversed", "left_out", "positions")
MORE = (
    "current_set", "temperature_accuracy", "repeats", "reversed", "left_out", "null", "null_time", "waited",
    "open_circuit_voltage", "joint_state", "positions",
)  # fmt: skip
ACT_OF_A_FILE = {"The cell is empty. A reading needs it.": "Fill this in. A reading needs it."}


def _line(label: str, help_text: str = "", **more: Any) -> forms.CharField:
    return forms.CharField(label=label, required=False, max_length=60, help_text=help_text, **more)


def _lines(label: str, help_text: str) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": 2})
    return forms.CharField(label=label, required=False, max_length=2000, help_text=help_text, widget=widget)


def _moment(label: str, *, required: bool = False) -> forms.CharField:
    return forms.CharField(
        label=label, required=required, max_length=60, help_text="The site’s own time.",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
        error_messages={"required": "Give the day and the time."},
    )  # fmt: skip


class Typed(PlainForm):
    """What both forms of the entry page share. entry: after a valid form, what is to be recorded"""

    entry: NewReading | NewNoReading | None = None

    def __init__(
        self,
        *args: Any,
        visit: Visit,
        point: TestPoint,
        at: datetime,
        correcting: Reading | None = None,
        **kwargs: Any,
    ) -> None:
        self.visit, self.point, self.at, self.correcting = visit, point, at, correcting
        super().__init__(*args, **kwargs)

    def cells(self) -> dict[str, str]:
        """The cells of the file's row that would say the same."""
        return {name: str(value or "") for name, value in self.cleaned_data.items()}

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if self.errors:
            return told
        faults = Faults()
        cells = {**self.cells(), "point": self.point.number}
        self.entry = typed_entry(self.visit, cells, faults, at=self.at, correcting=self.correcting)
        for fault in faults:
            self._say(fault.column, fault.sentence)
        return told

    def _say(self, column: str | None, sentence: str) -> None:
        place = column if column in self.fields else None
        self.add_error(place, ACT_OF_A_FILE.get(sentence, sentence))


class ReadingForm(Typed):
    """A reading as the display shows it. Its fields bear the names of the file's columns.

    ranges: the instruments' ranges to choose from
    """

    prefix = "reading"
    reading = DisplayField(
        label="Reading, as the display shows it", error_messages={
            "required": "Type what the display showed: a number, OL, <0.01, or -- for nothing."
        }, widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip
    unit = forms.ChoiceField(
        label="Unit", choices=[("", "Choose the unit"), *((unit, unit) for unit in UNITS)],
        error_messages={"required": "Choose the unit the display showed: a number means nothing without it."},
    )  # fmt: skip
    range = forms.ModelChoiceField(
        InstrumentRange.objects.none(), label="Instrument and range", empty_label="Choose the range",
        error_messages={"required": "Choose the instrument’s range: a value means nothing without it."},
    )  # fmt: skip
    method = forms.ChoiceField(
        label="Method", choices=[("", "Choose the method"), *((one, one) for one in METHODS)],
        error_messages={"required": "Choose how it was measured."},
    )  # fmt: skip
    current = _line("Test current", "What flowed, such as 10 A.")
    temperature = _line("Temperature of the metal", "Such as 21 °C; empty if not taken.")
    temperature_source = forms.ChoiceField(
        label="Temperature taken", required=False, initial=NOT_TAKEN,
        choices=[(one, one) for one in TEMPERATURE_SOURCES],
    )  # fmt: skip
    time = _moment("Read at", required=True)
    current_set = _line(
        "Current set", "What the instrument was set to, where it tells what flowed beside it."
    )
    temperature_accuracy = _line("Accuracy of the temperature", "Such as 1 K; 2 K where left out.")
    repeats = _lines("Further displays", "One a line, in the same unit.")
    reversed = _lines("With reversed current", "Signs kept; a second line where forward was read again.")
    left_out = _lines("Displays left out", "One a line: display, colon, reason. Such as 7.41: clamp slipped.")
    null = _line("Lead null", "The leads’ resistance to subtract, such as 0.02 Ω.")
    null_time = _moment("Null taken at")
    waited = _line("Waited for it to settle", "Such as 15 s.")
    open_circuit_voltage = _line("Open-circuit voltage", "Such as 6 V.")
    joint_state = _line("Joint", "Such as opened, closed again.")
    positions = _lines(
        "Fall of potential", "One place a line: per cent of the way, colon, display. Such as 62: 58.0."
    )

    def __init__(self, *args: Any, ranges: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = cast(forms.ModelChoiceField, self.fields["range"])
        field.queryset = ranges
        field.label_from_instance = _range_words  # type: ignore[method-assign, assignment]

    @property
    def first(self) -> Iterable[forms.BoundField]:
        return [field for field in self if field.name not in MORE and field.name != "reason"]

    @property
    def more(self) -> list[forms.BoundField]:
        return [self[name] for name in MORE]

    @property
    def unfolded(self) -> bool:
        """Whether something behind the fold is filled in or wrong."""
        return any(field.errors or field.value() for field in self.more)

    def cells(self) -> dict[str, str]:
        told = super().cells()
        chosen: InstrumentRange = self.cleaned_data["range"]
        told["instrument"], told["range"] = chosen.instrument.serial, chosen.text
        for name in LISTS:
            told[name] = "|".join(line.strip() for line in told[name].splitlines() if line.strip())
        for name in ("time", "null_time"):
            told[name] = told[name].replace("T", " ")
        return told


class CorrectionForm(ReadingForm):
    """The reading as it should have been, and why it is corrected."""

    reason = forms.CharField(
        label="Why it is corrected", max_length=400, widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Say why the reading is corrected; the one it replaces stays on record."},
    )  # fmt: skip

    def cells(self) -> dict[str, str]:
        told = super().cells()
        del told["reason"]
        return told


class NotReadForm(Typed):
    """Why the point is not read. A blank is never a value."""

    prefix = "not-read"
    no_reading = forms.ChoiceField(
        label="Why it is not read", choices=[("", "Choose the reason"), *Reason.choices],
        error_messages={"required": "Choose the reason."},
    )  # fmt: skip
    words = forms.CharField(
        label="What stood in the way, and what would help", required=False, max_length=400,
        widget=forms.Textarea(attrs={"rows": 2}),
    )  # fmt: skip
    time = _moment("Seen at", required=True)

    def cells(self) -> dict[str, str]:
        told = super().cells()
        return {**told, "time": told["time"].replace("T", " ")}


def _range_words(row: InstrumentRange) -> str:
    return f"{row.instrument.serial} · {row.text} range, step {' '.join(figures.in_unit(row.step_ohm, _unit_of(row)))}"


def _unit_of(row: InstrumentRange) -> str:
    number, _, unit = row.text.rpartition(" ")
    return unit if number and unit in UNITS else units.preferred_unit("Ω", units.RESISTANCE)


def as_typed(row: Reading, zone: ZoneInfo) -> dict[str, Any]:
    """A reading on record as somebody would type it, to be corrected."""

    def with_unit(value: Any, unit: str) -> str:
        return "" if value is None else f"{value:f} {unit}"

    def clock(at: datetime | None) -> str:
        return at.astimezone(zone).strftime("%Y-%m-%dT%H:%M") if at else ""

    def pairs(text: str) -> str:
        return "\n".join(line.replace(" ", ": ", 1) for line in text.split("\n") if line)

    return {
        "reading": row.text, "unit": row.unit, "range": row.range_id, "method": row.method,
        "current": with_unit(row.current_a, "A"), "current_set": with_unit(row.set_current_a, "A"),
        "temperature": with_unit(row.temperature_c, "°C"), "temperature_source": row.temperature_source,
        "temperature_accuracy": with_unit(row.temperature_accuracy_k, "K"), "time": clock(row.at),
        "repeats": row.repeats, "reversed": row.reversed_displays, "left_out": pairs(row.dropped),
        "positions": pairs(row.positions), "null": with_unit(row.null_ohm, "Ω"), "null_time": clock(row.null_taken_at),
        "waited": with_unit(row.waited_s, "s"), "open_circuit_voltage": with_unit(row.open_circuit_v, "V"),
        "joint_state": row.joint_state,
    }  # fmt: skip


def settings_of(row: Reading | None) -> dict[str, Any]:
    """What is carried on to the next point: how it was measured, never what was read, in which unit nor how warm."""
    if row is None:
        return {}
    return {
        "range": row.range_id,
        "method": row.method,
        "current": "" if row.current_a is None else f"{row.current_a:f} A",
        "current_set": "" if row.set_current_a is None else f"{row.set_current_a:f} A",
    }
