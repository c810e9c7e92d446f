"""The units people write, per dimension, each with its exact factor to SI. Never guessed: m is not M.

The list is short on purpose and is checked against pint in the tests.
"""

import re
from decimal import Decimal

from inspections.calculations.display import NumberError, parse_number

D = Decimal

RESISTANCE = "resistance"
RESISTIVITY = "resistivity"
CURRENT = "current"
VOLTAGE = "voltage"
TEMPERATURE = "temperature"
TEMPERATURE_DIFFERENCE = "temperature difference"
TEMPERATURE_COEFFICIENT = "temperature coefficient"
LENGTH = "length"
AREA = "area"
TIME = "time"
PERCENT = "percent"

MICRO, OHM_SIGN, OHM_LETTER = "\u00b5", "\u2126", "\u03a9"

# dimension: preferred spelling -> factor to SI
PREFERRED: dict[str, dict[str, Decimal]] = {
    RESISTANCE: {"µΩ": D("0.000001"), "mΩ": D("0.001"), "Ω": D(1), "kΩ": D(1000), "MΩ": D(1000000)},
    RESISTIVITY: {"Ω·m": D(1), "Ω·cm": D("0.01"), "Ω·mm²/m": D("0.000001"), "µΩ·cm": D("0.00000001")},
    CURRENT: {"A": D(1), "mA": D("0.001")},
    VOLTAGE: {"V": D(1), "mV": D("0.001")},
    TEMPERATURE: {"°C": D(1)},
    TEMPERATURE_DIFFERENCE: {"K": D(1)},
    TEMPERATURE_COEFFICIENT: {"1/K": D(1)},
    LENGTH: {"m": D(1), "mm": D("0.001"), "cm": D("0.01"), "km": D(1000), "ft": D("0.3048")},
    AREA: {"mm²": D("0.000001"), "cm²": D("0.0001"), "m²": D(1)},
    TIME: {"s": D(1), "min": D(60), "h": D(3600)},
    PERCENT: {"%": D(1)},
}

_ALIASES: dict[str, dict[str, str]] = {
    RESISTANCE: {
        f"{prefix}{word}": f"{shown}Ω"
        for shown, prefixes in (("µ", ("µ", "u")), ("m", ("m",)), ("", ("",)), ("k", ("k",)), ("M", ("M",)))
        for prefix in prefixes
        for word in ("ohm", "Ohm", "ohms", "Ω")
    }
    | {"microohm": "µΩ", "milliohm": "mΩ", "kilohm": "kΩ", "kiloohm": "kΩ", "megohm": "MΩ", "megaohm": "MΩ"},
    RESISTIVITY: {
        "ohm*m": "Ω·m", "ohm·m": "Ω·m", "ohm m": "Ω·m", "ohm.m": "Ω·m", "Ωm": "Ω·m", "Ω m": "Ω·m",
        "Ω*m": "Ω·m",
        "ohm*cm": "Ω·cm", "ohm·cm": "Ω·cm", "ohm cm": "Ω·cm", "Ω cm": "Ω·cm", "Ω*cm": "Ω·cm",
        "ohm*mm2/m": "Ω·mm²/m", "ohm mm2/m": "Ω·mm²/m", "ohm*mm²/m": "Ω·mm²/m", "ohm mm²/m": "Ω·mm²/m",
        "ohm·mm²/m": "Ω·mm²/m", "Ω mm²/m": "Ω·mm²/m", "Ω*mm²/m": "Ω·mm²/m",
        "uohm*cm": "µΩ·cm", "uohm cm": "µΩ·cm", "µohm*cm": "µΩ·cm", "µohm cm": "µΩ·cm", "µΩ cm": "µΩ·cm",
    },
    TEMPERATURE: {"degC": "°C", "deg C": "°C", "℃": "°C"},
    TEMPERATURE_COEFFICIENT: {"/K": "1/K", "/ K": "1/K", "1 / K": "1/K", "per K": "1/K", "K^-1": "1/K",
                              "K⁻¹": "1/K", "K-1": "1/K"},
    AREA: {"mm2": "mm²", "cm2": "cm²", "m2": "m²", "mm^2": "mm²", "cm^2": "cm²", "m^2": "m²"},
    PERCENT: {"percent": "%"},
}  # fmt: skip

SPELLINGS: dict[str, dict[str, str]] = {
    dimension: {**{unit: unit for unit in units}, **_ALIASES.get(dimension, {})}
    for dimension, units in PREFERRED.items()
}

DIMENSIONS = tuple(PREFERRED)

# A coefficient's unit may begin with a digit ("0.00393 1/K"); every other unit begins with something else.
_QUANTITY = re.compile(
    r"(?P<number>[+\-−]?[0-9.,'’_\u0020\u00a0\u202f\u2009]*?[0-9.,])"
    r"(?P<unit>\s+1\s?/\s?K|\s*[^0-9.,'’_\s].*|)",
    re.DOTALL,
)
_ARTICLES = {AREA: "an", **{name: "a" for name in DIMENSIONS if name != AREA}}
_EXAMPLES = {
    RESISTANCE: ("mΩ", "Ω"),
    RESISTIVITY: ("Ω·m", "Ω·cm"),
    CURRENT: ("A", "mA"),
    VOLTAGE: ("V", "mV"),
    LENGTH: ("m", "mm"),
    AREA: ("mm²", "m²"),
    TIME: ("s", "min"),
}


class UnitError(ValueError):
    """A text is not a quantity of the dimension asked for; the message says what to write."""


def one_spelling(unit: str) -> str:
    """The same unit with one code point for ohm and one for micro, and plain spaces.

    Valid for any text. Source: Unicode, which has two code points for each of these letters
    """
    return (
        unit.replace(OHM_SIGN, OHM_LETTER)
        .replace("\u03bc", MICRO)
        .replace("\u00a0", " ")
        .replace("\u202f", " ")
        .strip()
    )


def preferred_unit(text: str, dimension: str) -> str:
    """The unit as the product prints it, such as `mΩ` for `mohm`.

    Valid for the spellings of SPELLINGS alone, capitals counting. Source: SI Brochure (2019), trade spellings
    Raises: UnitError
    """
    spellings = SPELLINGS[dimension]
    found = spellings.get(text)
    if found is None:
        found = spellings.get(one_spelling(text))
    if found is None:
        raise UnitError(_unknown_unit(one_spelling(text), dimension))
    return found


def factor_to_si(unit: str, dimension: str) -> Decimal:
    """What one of this unit is in SI (degC for temperature, percent for percent). Raises: UnitError

    Valid for the units of PREFERRED. Source: SI Brochure (2019), exact factors; the international foot
    """
    return PREFERRED[dimension][preferred_unit(unit, dimension)]


def _unknown_unit(unit: str, dimension: str) -> str:
    choices = _list_of(list(PREFERRED[dimension]))
    twins = sorted({u for s, u in SPELLINGS[dimension].items() if s.lower() == unit.lower()})
    if twins and unit:
        return f"“{unit}” is not a unit here: capitals count (m is milli, M is mega). Write {choices}."
    if not unit:
        return f"The unit is missing. Write {choices}."
    return f"“{unit}” is not a unit of {dimension}. Write {choices}."


def _list_of(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def parse_si(text: str, dimension: str) -> Decimal:
    """`"0.2 mohm"` as an exact Decimal in SI.

    Validity and source: as `factor_to_si`
    Raises: UnitError or NumberError with a sentence.

    >>> parse_si("5.00 mohm", "resistance")
    Decimal('0.00500')
    """
    match = _QUANTITY.fullmatch(text.strip())
    if match is None:
        raise UnitError(
            f"“{text.strip()}” is not {_ARTICLES[dimension]} {dimension}. {_how_to_write(dimension)}"
        )
    number_text, unit = match["number"], match["unit"].strip()
    number = parse_number(number_text)
    if not unit:
        raise UnitError(_unitless(number_text.strip(), dimension))
    return number * factor_to_si(unit, dimension)


def _how_to_write(dimension: str) -> str:
    return f"Write a number and its unit: {_list_of(list(PREFERRED[dimension]))}."


def _unitless(number: str, dimension: str) -> str:
    units = _EXAMPLES.get(dimension, tuple(PREFERRED[dimension]))
    return f"{number} has no unit. Write {_list_of([f'{number} {unit}' for unit in units])}."


__all__ = ["DIMENSIONS", "NumberError", "UnitError", "factor_to_si", "parse_si", "preferred_unit"]
