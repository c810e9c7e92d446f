"""What a formula is to a command or a page: its inputs with their dimensions, its result, source and validity."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Context, Decimal
from typing import Any

from inspections.calculations import units
from inspections.calculations.printing import NBSP, plain

NUMBER = "number"
NUMBERS = "list of numbers"
RESISTANCES = "list of resistances"
METAL = "metal"
GAUGE = "gauge"
COMPONENTS = "list of components"

# How a result's unit is written where programs read it, and where people do.
WRITTEN = {
    units.RESISTANCE: "ohm",
    units.RESISTIVITY: "ohm*m",
    units.TEMPERATURE_COEFFICIENT: "1/K",
    NUMBER: "",
}
SHOWN = {units.RESISTANCE: "Ω", units.RESISTIVITY: "Ω·m", units.TEMPERATURE_COEFFICIENT: "1/K", NUMBER: ""}

LEAST_DIGITS = 6
_MOST_DIGITS = Context(prec=10)

Number = Decimal | float | int


@dataclass(frozen=True, slots=True)
class Input:
    """One input: kind is a dimension of units.py, or NUMBER, NUMBERS, RESISTANCES, METAL, GAUGE, COMPONENTS.

    A value reaches the formula in SI: a Decimal, a list of them, a Material (METAL), text (GAUGE), or
    (standard uncertainty, degrees of freedom or None) pairs (COMPONENTS). An optional one may be None.
    example: a usual value with its unit, where that of its dimension would mislead.
    """

    key: str
    kind: str
    label: str
    optional: bool = False
    example: str = ""


@dataclass(frozen=True, slots=True)
class Worked:
    """The result by its keys (None where there is none) and the working, a line a step."""

    result: Mapping[str, Number | None]
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Formula:
    """name: as a case file calls it. results: key -> dimension or NUMBER. work: raises ValueError outside validity."""

    name: str
    title: str
    inputs: tuple[Input, ...]
    results: Mapping[str, str]
    work: Callable[..., Worked] = field(repr=False)
    source: str
    validity: str

    def worked(self, values: Mapping[str, Any]) -> Worked:
        """values: one for each input, None for an optional one left out. Raises: ValueError with a sentence"""
        return self.work(**values)

    def result_texts(self, worked: Worked) -> dict[str, str | None]:
        """The result as text with its unit, six significant digits or more, never an exponent."""
        return {key: result_text(worked.result[key], kind) for key, kind in self.results.items()}


def result_text(number: Number | None, kind: str) -> str | None:
    """A number as decimal text with the unit of its kind; whole counts stay whole.

    >>> result_text(Decimal("24.96"), "resistance"), result_text(-6, "number")
    ('24.9600 ohm', '-6')
    """
    if number is None:
        return None
    text = str(number) if isinstance(number, int) else _digits(number)
    return f"{text} {WRITTEN[kind]}".rstrip()


def _digits(number: Decimal | float) -> str:
    exact = _decimal(number)
    rounded = _MOST_DIGITS.plus(exact)
    if rounded == 0:
        return "0.00000"
    last = rounded.adjusted() - LEAST_DIGITS + 1
    exponent = rounded.as_tuple().exponent
    if isinstance(exponent, int) and exponent > last:
        rounded = rounded.quantize(Decimal(1).scaleb(last))
    return format(rounded, "f")


def _decimal(number: Number) -> Decimal:
    return Decimal(repr(number)) if isinstance(number, float) else Decimal(number)


def shown(number: Number, unit: str = "", significant: int = LEAST_DIGITS) -> str:
    """A number for a line of the working: so many significant digits at most, a true minus, its unit.

    >>> shown(47.12388980384689, "Ω·m")
    '47.1239\\xa0Ω·m'
    """
    rounded = Context(prec=significant).plus(_decimal(number))
    text = plain(rounded.normalize(), significant)
    return f"{text}{NBSP}{unit}" if unit else text


def signed(number: Number) -> str:
    """As `shown`, in brackets where it is below zero, so that it can stand inside a sum."""
    return f"({shown(number)})" if number < 0 else shown(number)
