"""Numbers as people read them: plain digits, a true minus, a no-break space before the unit."""

from decimal import ROUND_HALF_EVEN, Context, Decimal
from functools import lru_cache

from inspections.calculations.units import PREFERRED, RESISTANCE, preferred_unit

NBSP = "\u00a0"
MINUS = "\u2212"


@lru_cache(maxsize=32)
def _rounding(significant: int) -> Context:
    return Context(prec=significant, rounding=ROUND_HALF_EVEN)


_SIX = _rounding(6)


def plain(number: Decimal, significant: int = 6) -> str:
    """At most so many significant digits, never an exponent; a number with fewer stays as it was written.

    number: in whatever unit it will be printed with. Valid for finite numbers; a tie rounds to the even digit.
    Source: SI Brochure (2019), how values are written; a true minus and a no-break space are this product's habit

    >>> plain(Decimal("4.721658"), 3), plain(Decimal("5.00")), plain(Decimal("-20")), plain(Decimal("0E-30"))
    ('4.72', '5.00', '−20', '0')
    """
    rounded = (_SIX if significant == 6 else _rounding(significant)).plus(number)
    if not rounded and -rounded.as_tuple().exponent > significant:  # type: ignore[operator]
        return "0"  # a product of zero carries as many decimals as its factors have digits
    text = format(rounded, "f")
    return MINUS + text[1:] if text[0] == "-" else text


def resistance_unit(ohm: Decimal) -> str:
    """The unit a person would choose: the largest one that leaves at least 1 before the point.

    ohm: [ohm]. Valid for any finite resistance. Source: SI prefixes, SI Brochure (2019)

    >>> resistance_unit(Decimal("0.0047"))
    'mΩ'
    """
    size = abs(ohm)
    if size == 0:
        return "Ω"
    chosen = "µΩ"
    for unit, factor in PREFERRED[RESISTANCE].items():
        if size >= factor:
            chosen = unit
    return chosen


def resistance(ohm: Decimal, unit: str | None = None, significant: int | None = None) -> str:
    """Ohms as people read them.

    ohm: [ohm]
    unit: as written by a person (`mohm`); None chooses by size
    significant: digits to round to; None keeps all that are there
    Valid for any finite resistance. Source: SI prefixes, SI Brochure (2019)

    >>> resistance(Decimal("0.0047216"), significant=3)
    '4.72\\xa0mΩ'
    """
    shown = resistance_unit(ohm) if unit is None else preferred_unit(unit, RESISTANCE)
    scaled = ohm / PREFERRED[RESISTANCE][shown]
    return f"{plain(scaled, significant or 28)}{NBSP}{shown}"
