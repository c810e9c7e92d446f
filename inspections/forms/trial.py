"""The form of a reading to be tried: point, rule, instrument, reading and history in, a case out."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField

from inspections import evidence, materials, trial_cases
from inspections.calculations import units
from inspections.forms.case_fields import (
    LONGEST,
    DisplayField,
    LinesField,
    NumberField,
    QuantityField,
    cells,
    required,
)
from inspections.forms.times import LocalDay, LocalMoment
from inspections.models import InstrumentRange, LimitRule
from inspections.rules.judging.facts import DECISIONS, METHODS, QUANTITIES, TEMPERATURE_SOURCES
from inspections.tables import figures
from sites.forms.plain import PlainForm
from sites.models import Quantity

OWN_METAL = "own"
USUAL = ("", "1", "5")
OFFSET = re.compile(r"[+\-−][0-9]{2}:?[0-9]{2}")
UNIT_WORDS = {"µΩ": "microohm", "mΩ": "milliohm", "Ω": "ohm", "kΩ": "kiloohm", "MΩ": "megaohm"}
PATHS = {"": "nobody has said", "no": "none known", "yes": "known"}
RULE_TYPED = (
    "limit", "reference_temperature", "decision", "guard", "methods", "minimum_current", "repeats_wanted",
    "allowed_spread_percent", "lowest_voltage", "highest_voltage",
)  # fmt: skip
INSTRUMENT_TYPED = ("calibrated_on", "valid_until", "percent_of_reading", "digits", "step", "range_top")


def _choices(words: Any) -> list[tuple[str, str]]:
    return [(word, word) for word in words]


class LimitChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        limit = (
            "no limit" if obj.limit_ohm is None else " ".join(figures.in_unit(obj.limit_ohm, obj.limit_unit))
        )
        return f"{obj.get_quantity_display()}, {limit}: {obj.title} ({obj.author_name}, {obj.edition})"


class RangeChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.instrument}, {obj.text} range"


@dataclass(frozen=True, slots=True)
class FormSection:
    """Fields under one head; more: those behind a fold, which stands open where one of them is filled or wrong."""

    key: str
    title: str
    words: str
    fields: list[BoundField]
    more: list[BoundField]

    @property
    def unfolded(self) -> bool:
        return any(field.errors or str(field.value() or "") not in USUAL for field in self.more)


SECTIONS = (
    (
        "reading", "Reading", "",
        ("text", "unit", "method", "current", "at", "offset", "temperature", "temperature_source",
         "temperature_accuracy"),
        ("current_set", "repeats", "dropped", "reversed", "null", "null_taken_at", "waited", "open_circuit_voltage",
         "joint_state", "positions"),
    ),
    (
        "rule", "Rule", "Pick one your firm has adopted, or type it. What is picked goes before what is typed.",
        ("edition", "limit", "reference_temperature", "decision", "guard", "minimum_current", "methods"),
        ("repeats_wanted", "allowed_spread_percent", "lowest_voltage", "highest_voltage"),
    ),
    (
        "instrument", "Instrument", "Pick a range, or type it. What is picked goes before what is typed.",
        ("range", "calibrated_on", "valid_until", "percent_of_reading", "digits", "step", "range_top"), (),
    ),
    ("point", "Point", "", ("quantity", "material", "length", "section", "parallel_paths"), ("alpha", "alpha_at")),
    ("history", "Earlier readings", "", ("history",), ()),
)  # fmt: skip
METAL_TYPED = ("alpha", "alpha_at")
# Asked for while nothing is picked in their place.
NEEDED = {
    **dict.fromkeys(INSTRUMENT_TYPED, "Give it, or pick the range of an instrument."),
    **dict.fromkeys(METAL_TYPED, "Give it for a metal of your own."),
    "decision": "Choose how it is decided, or pick an adopted limit.",
}


class TrialForm(PlainForm):
    """Everything a verdict stands on. ``case`` gives it as the command takes it, once the form is valid."""

    quantity = forms.ChoiceField(
        label="What is measured",
        choices=[("", "Choose"), *((name, Quantity(name).label) for name in QUANTITIES)],
        error_messages=required("Choose what is measured."),
    )
    material = forms.ChoiceField(label="Metal", required=False)
    length = QuantityField(units.LENGTH, required=False)
    section = QuantityField(units.AREA, required=False)
    parallel_paths = forms.ChoiceField(label="Parallel paths", choices=list(PATHS.items()), required=False)
    alpha = QuantityField(
        units.TEMPERATURE_COEFFICIENT, label="Temperature coefficient of a metal of your own", required=False
    )
    alpha_at = QuantityField(units.TEMPERATURE, label="Coefficient given at", required=False)

    edition = LimitChoice(
        LimitRule.objects.none(), label="Adopted limit", required=False, empty_label="typed below"
    )
    limit = QuantityField(units.RESISTANCE, label="Upper limit", required=False,
                          help_text="Such as 20 mΩ. Left out: no limit applies.")  # fmt: skip
    reference_temperature = QuantityField(units.TEMPERATURE, label="Limit holds at", required=False,
                                          help_text="Such as 20 °C. Left out: as found.")  # fmt: skip
    decision = forms.ChoiceField(label="Decision", choices=_choices(DECISIONS), required=False)
    guard = NumberField(label="Guard, in U", at_least=0, required=False,
                        help_text="For guarded: w = guard · U; 1 where left out.")  # fmt: skip
    methods = forms.MultipleChoiceField(
        label="Methods asked for", choices=_choices(METHODS), required=False, widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: any.",
    )  # fmt: skip
    minimum_current = QuantityField(units.CURRENT, label="Least test current", required=False)
    repeats_wanted = forms.IntegerField(label="Displays wanted", min_value=1, max_value=60, required=False)
    allowed_spread_percent = NumberField(label="Allowed spread, in %", at_least=0, required=False)
    lowest_voltage = QuantityField(units.VOLTAGE, label="Open-circuit voltage, lowest", required=False)
    highest_voltage = QuantityField(units.VOLTAGE, label="Open-circuit voltage, highest", required=False)

    range = RangeChoice(
        InstrumentRange.objects.none(),
        label="Range of an instrument",
        required=False,
        empty_label="typed below",
    )
    calibrated_on = LocalDay(label="Calibrated on", required=False)
    valid_until = LocalDay(label="Valid until", required=False)
    percent_of_reading = NumberField(label="Accuracy, in % of reading", at_least=0, required=False)
    digits = NumberField(label="Accuracy, in digits", at_least=0, required=False)
    step = QuantityField(units.RESISTANCE, label="Step of the display", required=False,
                         help_text="Such as 0.01 mΩ.")  # fmt: skip
    range_top = QuantityField(units.RESISTANCE, label="Top of the range", required=False,
                              help_text="Such as 25 mΩ.")  # fmt: skip

    text = DisplayField(
        label="Display", help_text="As shown: 5.00, OL, <0.01 or --.",
        error_messages=required("Write what the display showed; -- where it showed nothing."),
    )  # fmt: skip
    unit = forms.ChoiceField(
        choices=[("", "Choose"), *((unit, f"{unit}, {word}") for unit, word in UNIT_WORDS.items())],
        error_messages=required("Choose the unit the display showed."),
    )
    method = forms.ChoiceField(choices=[("", "Choose"), *_choices(METHODS)],
                               error_messages=required("Choose how it was measured."))  # fmt: skip
    at = LocalMoment(label="Read at", help_text="The time at the place.",
                     error_messages=required("Give the day and the time."))  # fmt: skip
    offset = forms.CharField(label="Offset from UTC there", max_length=LONGEST, required=False,
                             help_text="Such as +01:00; +00:00 where left out.")  # fmt: skip
    current = QuantityField(units.CURRENT, label="Test current", required=False)
    current_set = QuantityField(
        units.CURRENT,
        label="Current set",
        required=False,
        help_text="Where it was noted; the other is what flowed.",
    )
    temperature = QuantityField(units.TEMPERATURE, label="Temperature of the metal", required=False)
    temperature_source = forms.ChoiceField(
        label="Temperature taken", required=False,
        choices=[("", "source not recorded"), *_choices(TEMPERATURE_SOURCES)],
    )  # fmt: skip
    temperature_accuracy = QuantityField(units.TEMPERATURE_DIFFERENCE, label="Accuracy of the temperature",
                                         required=False, help_text="Such as 1 K; 2 K where left out.")  # fmt: skip
    repeats = LinesField(label="Further displays", display=True, help_text="One a line, in the same unit.")
    dropped = LinesField(label="Displays left out", help_text="One a line: the display, a space, the reason.")
    reversed = LinesField(
        label="With reversed current", display=True,
        help_text="Signs kept. A second line, where forward was read again after it.",
    )  # fmt: skip
    null = QuantityField(units.RESISTANCE, label="Lead null", required=False)
    null_taken_at = LocalMoment(label="Null taken at", required=False, help_text="The time at the place.")
    waited = QuantityField(units.TIME, label="Waited for it to settle", required=False)
    open_circuit_voltage = QuantityField(units.VOLTAGE, label="Open-circuit voltage", required=False)
    joint_state = forms.CharField(
        label="Joint", max_length=60, required=False, help_text="Such as open, or closed."
    )
    positions = LinesField(
        label="Fall of potential", rows=3, help_text="One place a line: per cent of the way, a space, the display.",
    )  # fmt: skip
    history = LinesField(
        label="Earlier results of the point", rows=3,
        help_text="One a line: day; corrected value; method; uncertainty; the word baseline. The last two may be left "
        "out. Such as 2026-05-02; 4.60 mΩ; four-wire; 0.05 mΩ; baseline.",
    )  # fmt: skip

    def __init__(self, *args: Any, limits: Any, ranges: Any, **kwargs: Any) -> None:
        """limits, ranges: what this person may pick from"""
        super().__init__(*args, **kwargs)
        self._pick("edition", limits)
        self._pick("range", ranges)
        material: Any = self.fields["material"]
        material.choices = [
            ("", "not recorded"),
            *_choices(materials.material_names()),
            (OWN_METAL, "one of my own"),
        ]

        for names, typed in self._alternatives():
            for name in set(names) & NEEDED.keys():
                self.fields[name].required = typed
                self.fields[name].error_messages["required"] = NEEDED[name]

    def _alternatives(self) -> Iterator[tuple[tuple[str, ...], bool]]:
        """Fields that are typed unless something is picked, and whether they are now."""
        told: Any = self.data if self.is_bound else self.initial
        yield RULE_TYPED, not told.get("edition")
        yield INSTRUMENT_TYPED, not told.get("range")
        yield METAL_TYPED, told.get("material") == OWN_METAL

    def _pick(self, name: str, rows: Any) -> None:
        field: Any = self.fields[name]
        field.queryset = rows

    def sections(self) -> Iterator[FormSection]:
        for key, title, words, names, more in SECTIONS:
            yield FormSection(
                key, title, words, [self[name] for name in names], [self[name] for name in more]
            )

    def clean_offset(self) -> str:
        text = (self.cleaned_data["offset"] or "+00:00").replace("−", "-")
        if not OFFSET.fullmatch(text):
            raise ValidationError(
                f"“{text}” is not an offset. Write hours and minutes, such as +01:00 or -05:00."
            )
        return text if ":" in text else f"{text[:3]}:{text[3:]}"

    def clean_reversed(self) -> list[str]:
        lines: list[str] = self.cleaned_data["reversed"]
        if len(lines) > 2:
            raise ValidationError("Write the reversed display, or two lines: reversed, and forward again.")
        return lines

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        for names, typed in self._alternatives():
            if not typed:
                self._passed_over(names)
        if told.get("range") and told.get("at") and self.calibration() is None:
            self.add_error(
                "range",
                "No calibration of this instrument is on record before that day. Choose “typed below” and type it.",
            )
        ends = told.get("lowest_voltage"), told.get("highest_voltage")
        if any(ends) and not all(ends) and not told.get("edition"):
            missing = "highest_voltage" if ends[0] else "lowest_voltage"
            if missing not in self.errors:
                self.add_error(missing, "Give both ends of the open-circuit voltage, or neither.")
        for name, text in (("dropped", "7.41 clamp slipped"), ("positions", "62 58.0")):
            short = [line for line in told.get(name) or [] if len(line.split(None, 1)) < 2]
            if short:
                self.add_error(name, f"“{short[0][:40]}” has no space in it. Write a line such as: {text}")
        return told

    def _passed_over(self, names: tuple[str, ...]) -> None:
        """What was typed where something is picked stays as it is, right or wrong, and is not used."""
        for name in names:
            self.errors.pop(name, None)

    def calibration(self) -> Any:
        """The calibration of the picked range's instrument that was known for the day, as a visit would take it."""
        rows = self.cleaned_data["range"].instrument.calibrations.all()
        return evidence.choose_calibration(list(rows), self.cleaned_data["at"].date())

    # The case --------------------------------------------------------------------------------------------------

    def case(self) -> dict[str, Any]:
        """The case of a valid form: what is picked spelled out, the rest as it was typed."""
        told = self.cleaned_data
        picked: InstrumentRange | None = told["range"]
        return {
            "point": self._point(told),
            "rule": trial_cases.rule_case(told["edition"]) if told["edition"] else self._rule(told),
            "instrument": trial_cases.instrument_case(picked, self.calibration())
            if picked
            else {
                "calibrated_on": told["calibrated_on"].isoformat(),
                "valid_until": told["valid_until"].isoformat(),
                "accuracy": {"percent_of_reading": told["percent_of_reading"], "digits": told["digits"]},
            },
            "reading": self._reading(told, picked),
            "history": [_earlier(parts) for parts in cells(told["history"], ";", 5)],
        }

    def _point(self, told: dict[str, Any]) -> dict[str, Any]:
        own = {"alpha": told.get("alpha"), "at": told.get("alpha_at")}
        return {
            "quantity": told["quantity"],
            "material": own if told["material"] == OWN_METAL else told["material"] or None,
            "length": told["length"] or None,
            "section": told["section"] or None,
            "parallel_paths": {"yes": True, "no": False}.get(told["parallel_paths"]),
        }

    def _rule(self, told: dict[str, Any]) -> dict[str, Any]:
        ends = [told["lowest_voltage"], told["highest_voltage"]]
        return {
            "limit": told["limit"] or None,
            "reference_temperature": told["reference_temperature"] or None,
            "decision": told["decision"],
            "guard": told["guard"] or "1",
            "methods": told["methods"],
            "minimum_current": told["minimum_current"] or None,
            "repeats": told["repeats_wanted"] or 1,
            "allowed_spread_percent": told["allowed_spread_percent"] or "5",
            "open_circuit_voltage": ends if any(ends) else None,
        }

    def _reading(self, told: dict[str, Any], picked: InstrumentRange | None) -> dict[str, Any]:
        typed = {"step": told.get("step"), "range_top": told.get("range_top")}
        return {
            "text": told["text"],
            "unit": told["unit"],
            **(trial_cases.range_case(picked) if picked else typed),
            "method": told["method"],
            "at": _instant(told["at"], told["offset"]),
            "current": told["current"] or None,
            "current_set": told["current_set"] or None,
            "temperature": told["temperature"] or None,
            "temperature_source": told["temperature_source"] or None,
            "temperature_accuracy": told["temperature_accuracy"] or None,
            "repeats": told["repeats"],
            "reversed": told["reversed"] or None,
            "null": told["null"] or None,
            "null_taken_at": _instant(told["null_taken_at"], told["offset"])
            if told["null_taken_at"]
            else None,
            "waited": told["waited"] or None,
            "open_circuit_voltage": told["open_circuit_voltage"] or None,
            "joint_state": told["joint_state"] or None,
            "positions": [
                {"percent": place, "text": text} for place, text in cells(told["positions"], None, 2)
            ],
            "dropped": [{"text": text, "reason": why} for text, why in cells(told["dropped"], None, 2)],
        }


def _instant(at: datetime, offset: str) -> str:
    """The clock time that was typed, with the place's offset."""
    return f"{at:%Y-%m-%dT%H:%M:%S}{offset}"


def _earlier(parts: list[str]) -> dict[str, Any]:
    on, corrected, method, uncertainty, baseline = [*parts, "", "", "", "", ""][:5]
    return {
        "on": _iso(on),
        "corrected": corrected,
        "method": method,
        "uncertainty": uncertainty or None,
        "baseline": baseline.casefold() == "baseline",
    }


def _iso(text: str) -> str:
    """A day as a case has it; what is none stays as it was typed, for the case to refuse."""
    for form in ("%d %b %Y", "%d %B %Y"):
        try:
            return datetime.strptime(text, form).date().isoformat()
        except ValueError:
            continue
    return text


# From a case to the form ---------------------------------------------------------------------------------------


def typed_as(case: dict[str, Any]) -> dict[str, Any]:
    """What stands in the form where a case is to be tried with something changed."""
    point, rule, instrument, reading = (case[key] for key in ("point", "rule", "instrument", "reading"))
    at = datetime.fromisoformat(reading["at"])
    ends = rule.get("open_circuit_voltage") or ["", ""]
    told = {
        **{key: point.get(key) for key in ("quantity", "material", "length", "section")},
        "parallel_paths": {True: "yes", False: "no"}.get(point.get("parallel_paths"), ""),
        **{key: rule.get(key) for key in RULE_TYPED},
        "repeats_wanted": rule.get("repeats", 1),
        "lowest_voltage": ends[0],
        "highest_voltage": ends[1],
        **{
            key: instrument[key] and date.fromisoformat(instrument[key])
            for key in ("calibrated_on", "valid_until")
        },
        **instrument["accuracy"],
        **reading,
        "at": at.replace(tzinfo=None, second=0).isoformat(timespec="minutes"),
        "offset": f"{at:%z}"[:3] + ":" + f"{at:%z}"[3:5],
        "repeats": "\n".join(reading.get("repeats") or []),
        "reversed": "\n".join(reading.get("reversed") or []),
        "positions": "\n".join(f"{row['percent']} {row['text']}" for row in reading.get("positions") or []),
        "history": "\n".join(_earlier_line(row) for row in case["history"]),
    }
    return {key: value for key, value in told.items() if value is not None}


def _earlier_line(row: dict[str, Any]) -> str:
    parts = [
        row["on"],
        row["corrected"],
        row["method"],
        row["uncertainty"] or "",
        "baseline" if row["baseline"] else "",
    ]
    return "; ".join(parts).rstrip("; ")
