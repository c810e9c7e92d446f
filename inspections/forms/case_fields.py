"""Fields whose text goes into a case as it was typed, once it has been understood."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inspections import quantities
from inspections.calculations import units
from inspections.calculations.display import NumberError, parse_display

EXAMPLES = {
    units.RESISTANCE: "20 mΩ",
    units.RESISTIVITY: "100 Ω·m",
    units.CURRENT: "10 A",
    units.VOLTAGE: "24 V",
    units.TEMPERATURE: "35 °C",
    units.TEMPERATURE_DIFFERENCE: "1 K",
    units.TEMPERATURE_COEFFICIENT: "0.00393 / K",
    units.LENGTH: "15 m",
    units.AREA: "75 mm²",
    units.TIME: "10 s",
    units.PERCENT: "5 %",
}
LONGEST = 60
MOST_LINES = 60


def required(sentence: str) -> dict[str, str]:
    """What a field says where it was left out."""
    return {"required": sentence}


class QuantityField(forms.CharField):
    """A number with its unit, of one dimension of ``units``; comes out as it was typed."""

    def __init__(self, dimension: str, *, help_text: str = "", example: str = "", **more: Any) -> None:
        self.dimension = dimension
        shown = help_text or f"Such as {example or EXAMPLES[dimension]}."
        super().__init__(max_length=LONGEST, help_text=shown, **more)

    def clean(self, value: Any) -> str:
        text: str = super().clean(value)
        if text:
            _understood(lambda: quantities.parse_quantity(text, self.dimension))
        return text


class NumberField(forms.CharField):
    """A plain number without a unit; comes out as it was typed."""

    def __init__(self, *, at_least: int | None = None, **more: Any) -> None:
        self.at_least = at_least
        super().__init__(max_length=LONGEST, **more)

    def clean(self, value: Any) -> str:
        text: str = super().clean(value)
        if not text:
            return text
        number = _understood(lambda: quantities.parse_number(text))
        if self.at_least is not None and number < self.at_least:
            raise ValidationError(f"{text} is less than {self.at_least}.")
        return text


class DisplayField(forms.CharField):
    """What a display showed: a number, OL, >x, <x or two dashes."""

    def __init__(self, **more: Any) -> None:
        super().__init__(max_length=24, **more)

    def clean(self, value: Any) -> str:
        text: str = super().clean(value)
        if text:
            _understood(lambda: parse_display(text))
        return text


class LinesField(forms.CharField):
    """Several entries, one a line; comes out as a list of lines that are not blank.

    display: whether each line is what a display showed
    """

    def __init__(self, *, display: bool = False, rows: int = 2, **more: Any) -> None:
        self.display = display
        widget = forms.Textarea(attrs={"rows": rows, "spellcheck": "false"})
        super().__init__(max_length=6000, required=more.pop("required", False), widget=widget, **more)

    def clean(self, value: Any) -> list[str]:
        lines = [line.strip() for line in str(super().clean(value)).splitlines() if line.strip()]
        if len(lines) > MOST_LINES:
            raise ValidationError(f"There are {len(lines)} lines; at most {MOST_LINES} are taken.")
        for number, line in enumerate(lines if self.display else [], start=1):
            _understood(lambda line=line: parse_display(line), f"Line {number}: ")
        return lines


def cells(lines: Iterable[str], separator: str | None, most: int) -> list[list[str]]:
    """Each line cut into at most so many cells, outer spaces gone. separator: None cuts at spaces"""
    return [[cell.strip() for cell in line.split(separator, most - 1)] for line in lines]


def _understood(read: Any, before: str = "") -> Any:
    try:
        return read()
    except (quantities.QuantityError, NumberError, ValueError) as fault:
        raise ValidationError(f"{before}{fault}") from None
