"""A calculator's form, made from the formula: one field an input, by what kind of input it is."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from django import forms

from inspections import formulas, materials
from inspections.calculations import units
from inspections.cases import calculate
from inspections.cases.reading_case import CaseError, Section
from inspections.forms.case_fields import EXAMPLES, LinesField, NumberField, QuantityField, required
from inspections.formulas import Formula, Input
from sites.forms.plain import PlainForm

OWN_METAL = "own"
COLUMNS = (formulas.NUMBERS, formulas.RESISTANCES, formulas.COMPONENTS)
HELP = {
    formulas.NUMBERS: "One a line, such as 0.82.",
    formulas.RESISTANCES: "One a line, such as 48 Ω.",
    formulas.COMPONENTS: "One a line: the standard uncertainty; degrees of freedom, left out where there are "
    "infinitely many. Such as 0.024; 4.",
    formulas.GAUGE: "Such as 12 or 2/0.",
    formulas.NUMBER: "A plain number.",
}
MISSING = "Give this; the formula needs it."


class CalculatorForm(PlainForm):
    """The inputs of one formula. ``inputs`` gives them as a case has them, once the form is valid."""

    def __init__(self, *args: Any, formula: Formula, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.formula = formula
        for given in formula.inputs:
            self.fields[given.key] = field_for(given)
            if given.kind == formulas.METAL:
                self.fields.update(self._own_metal(given))

    def _own_metal(self, given: Input) -> dict[str, forms.Field]:
        told: Any = self.data if self.is_bound else self.initial
        own = told.get(given.key) == OWN_METAL
        more: dict[str, Any] = {
            "required": own,
            "error_messages": required("Give it for a metal of your own."),
        }
        alpha = QuantityField(
            units.TEMPERATURE_COEFFICIENT, label="Its temperature coefficient",
            help_text="For one of your own: 0.0045 / K.", **more,
        )  # fmt: skip
        return {
            f"{given.key}_alpha": alpha,
            f"{given.key}_at": QuantityField(units.TEMPERATURE, label="Coefficient given at", **more),
        }

    @property
    def has_columns(self) -> bool:
        """Whether something is typed one a line: too long for an address."""
        return any(given.kind in COLUMNS for given in self.formula.inputs)

    def clean(self) -> dict[str, Any]:
        """Each input by itself, by the functions of the command, so that every fault stands at its field at once."""
        told = super().clean() or {}
        for given in self.formula.inputs:
            if given.key in self.errors:
                continue
            value = self._value(given)
            if value is None:
                continue
            alone = replace(self.formula, inputs=(given,))
            try:
                calculate.input_values(alone, Section({given.key: value}, ""))
            except CaseError as fault:
                self.add_error(given.key, sentence_of(str(fault)))
        return told

    def inputs(self) -> dict[str, Any]:
        """Key and value of each input that was given."""
        values = {given.key: self._value(given) for given in self.formula.inputs}
        return {key: value for key, value in values.items() if value is not None}

    def _value(self, given: Input) -> Any:
        value = self.cleaned_data.get(given.key)
        if not value:
            return None
        if given.kind == formulas.METAL and value == OWN_METAL:
            return {
                "alpha": self.cleaned_data.get(f"{given.key}_alpha", ""),
                "at": self.cleaned_data.get(f"{given.key}_at", ""),
            }
        return list(_components(value)) if given.kind == formulas.COMPONENTS else value


def field_for(given: Input) -> forms.Field:
    """The field of one input, by its kind."""
    more: dict[str, Any] = {
        "label": given.label,
        "required": not given.optional,
        "error_messages": required(MISSING),
    }
    if given.kind == formulas.METAL:
        return forms.ChoiceField(
            choices=[
                ("", "Choose"),
                *((name, name) for name in materials.material_names()),
                (OWN_METAL, "one of my own"),
            ],
            **more,
        )
    if given.kind in COLUMNS:
        return LinesField(rows=5, help_text=HELP[given.kind], **more)
    if given.kind == formulas.NUMBER:
        return NumberField(help_text=HELP[given.kind], **more)
    if given.kind in EXAMPLES:
        return QuantityField(given.kind, example=given.example, **more)
    return forms.CharField(max_length=12, help_text=HELP.get(given.kind, ""), **more)


def _components(lines: list[str]) -> Iterator[dict[str, Any]]:
    for line in lines:
        uncertainty, _, degrees = line.partition(";")
        yield {"standard_uncertainty": uncertainty.strip(), "degrees_of_freedom": degrees.strip() or None}


def sentence_of(fault: str) -> str:
    """A case's fault without the case's name of its place; the line is named where there are several."""
    place, colon, sentence = fault.partition(": ")
    if not colon or " " in place:
        return fault
    _, bracket, rest = place.partition("[")
    line = f"Line {int(rest.partition(']')[0]) + 1}: " if bracket else ""
    return f"{line}{sentence if line else sentence[:1].upper() + sentence[1:]}"


class SeriesForm(PlainForm):
    """A Wenner series: spacing and resistance, one pair a line."""

    series = LinesField(
        label="Spacing and resistance", rows=7, required=True,
        help_text="One pair a line, with a semicolon between, such as 2 m; 12.5 Ω. At least four different spacings, "
        "pins no deeper than a twentieth of the least.",
        error_messages=required("Write at least four pairs."),
    )  # fmt: skip

    def clean_series(self) -> list[str]:
        lines: list[str] = self.cleaned_data["series"]
        self.pairs = [_pair(number, line) for number, line in enumerate(lines, start=1)]
        return lines


def _pair(number: int, line: str) -> tuple[float, float]:
    """Spacing [m] and resistance [ohm] of one line."""
    spacing, semicolon, read = line.partition(";")
    if not semicolon:
        raise forms.ValidationError(f"Line {number}: write a semicolon between the two, such as 2 m; 12.5 Ω.")
    found = []
    for text, dimension in ((spacing, units.LENGTH), (read, units.RESISTANCE)):
        try:
            found.append(float(units.parse_si(text, dimension)))
        except ValueError as fault:
            raise forms.ValidationError(f"Line {number}: {fault}") from None
    return found[0], found[1]


class WholeForm(PlainForm):
    """A whole earth and its electrodes measured one by one."""

    whole = QuantityField(units.RESISTANCE, label="Measured as a whole", help_text="All joined, such as 12 Ω.",
                          error_messages=required("Give the value of the whole."))  # fmt: skip
    parts = LinesField(
        label="Each electrode by itself", rows=5, required=True, help_text="Isolated, one a line, such as 48 Ω.",
        error_messages=required("Write the value of each electrode."),
    )  # fmt: skip
    allowed = NumberField(
        label="Allowed difference, in %", at_least=0, required=False, help_text="30 where left out."
    )

    def clean_parts(self) -> list[str]:
        lines: list[str] = self.cleaned_data["parts"]
        for number, line in enumerate(lines, start=1):
            try:
                units.parse_si(line, units.RESISTANCE)
            except ValueError as fault:
                raise forms.ValidationError(f"Line {number}: {fault}") from None
        return lines
