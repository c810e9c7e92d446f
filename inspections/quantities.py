"""The edge where people's numbers with units come in and go out. Inside, everything is SI and Decimal.

A text is read by a strict pattern and a short list of units per dimension, never guessed and never handed to
a library that evaluates it. pint converts Quantities at this edge; it is loaded only when one is asked for.
"""

from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING

from inspections.calculations import display, printing, units

if TYPE_CHECKING:
    import pint

DIMENSIONS = units.DIMENSIONS

# What each preferred unit is called in pint, and the SI unit of each dimension.
PINT_UNITS = {
    "µΩ": "microohm", "mΩ": "milliohm", "Ω": "ohm", "kΩ": "kiloohm", "MΩ": "megaohm",
    "Ω·m": "ohm * meter", "Ω·cm": "ohm * centimeter", "Ω·mm²/m": "ohm * millimeter ** 2 / meter",
    "µΩ·cm": "microohm * centimeter", "A": "ampere", "mA": "milliampere", "V": "volt", "mV": "millivolt",
    "°C": "degree_Celsius", "K": "kelvin", "1/K": "1 / kelvin", "m": "meter", "mm": "millimeter",
    "cm": "centimeter", "km": "kilometer", "ft": "foot", "mm²": "millimeter ** 2", "cm²": "centimeter ** 2",
    "m²": "meter ** 2", "s": "second", "min": "minute", "h": "hour", "%": "percent",
}  # fmt: skip
SI_UNITS = {
    units.RESISTANCE: "Ω", units.RESISTIVITY: "Ω·m", units.CURRENT: "A", units.VOLTAGE: "V",
    units.TEMPERATURE: "°C", units.TEMPERATURE_DIFFERENCE: "K", units.TEMPERATURE_COEFFICIENT: "1/K",
    units.LENGTH: "m", units.AREA: "m²", units.TIME: "s", units.PERCENT: "%",
}  # fmt: skip


class QuantityError(ValueError):
    """A text is not the number, unit or quantity asked for; the message says what to write."""


def parse_number(text: str) -> Decimal:
    """One plain number, exact. One comma and no point is a decimal comma. Raises: QuantityError"""
    try:
        return display.parse_number(text)
    except display.NumberError as error:
        raise QuantityError(str(error)) from None


def parse_unit(text: str, dimension: str) -> str:
    """The unit as the product prints it (`mohm` is `mΩ`). Raises: QuantityError

    >>> parse_unit("uohm", "resistance")
    'µΩ'
    """
    try:
        return units.preferred_unit(text, dimension)
    except units.UnitError as error:
        raise QuantityError(str(error)) from None


def parse_quantity(text: str, dimension: str) -> Decimal:
    """A number with its unit as an exact Decimal in SI (degC for a temperature, percent for a percentage).

    dimension: one of DIMENSIONS
    Raises: QuantityError

    >>> parse_quantity("75 mm²", "area")
    Decimal('0.000075')
    """
    try:
        return units.parse_si(text, dimension)
    except (units.UnitError, display.NumberError) as error:
        raise QuantityError(str(error)) from None


def format_resistance(ohm: Decimal, unit: str | None = None, significant: int | None = None) -> str:
    """Ohms as people read them: `4.72 mΩ` with a no-break space and a true minus.

    unit: as a person writes it; None chooses by size. significant: None keeps every digit.
    Raises: QuantityError for an unknown unit
    """
    return printing.resistance(ohm, unit and parse_unit(unit, units.RESISTANCE), significant)


def format_number(number: Decimal, significant: int = 6) -> str:
    """A plain number with a true minus, at most so many significant digits."""
    return printing.plain(number, significant)


@cache
def registry() -> "pint.UnitRegistry":
    """The one application registry, of Decimals. Nothing is cached on disk."""
    import pint

    made: pint.UnitRegistry = pint.UnitRegistry(non_int_type=Decimal, cache_folder=None)
    pint.set_application_registry(made)
    return made


@cache
def _pint_unit(unit: str) -> "pint.Unit":
    return registry().parse_units(PINT_UNITS[unit])


def as_pint(text: str, dimension: str) -> "pint.Quantity":
    """A text with its unit as a pint Quantity in SI. Raises: QuantityError"""
    return registry().Quantity(parse_quantity(text, dimension), _pint_unit(SI_UNITS[dimension]))


def from_pint(quantity: "pint.Quantity", dimension: str) -> Decimal:
    """A pint Quantity as a Decimal in the SI unit of the dimension.

    Raises: QuantityError where it is another dimension or not a Decimal
    """
    import pint

    try:
        magnitude = quantity.to(_pint_unit(SI_UNITS[dimension])).magnitude
    except pint.DimensionalityError:
        raise QuantityError(f"{quantity} is not a {dimension}.") from None
    if not isinstance(magnitude, Decimal | int):
        raise QuantityError(f"{quantity} is a binary number; build it from text or a Decimal.")
    return Decimal(magnitude)
