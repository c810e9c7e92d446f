"""Reversing the current takes out what does not turn with it: thermal voltages and zero offset."""

from decimal import Decimal
from typing import NamedTuple

SOURCE = "current reversal, standard direct-current practice (common practice, no published source)"


class Reversal(NamedTuple):
    """value: what turns with the current. offset: what does not. Both in the unit of the displays."""

    value: Decimal
    offset: Decimal


def reverse(forward: Decimal, reversed_: Decimal) -> Reversal:
    """Two displays, sign kept: value (R₊ − R₋)/2, offset (R₊ + R₋)/2.

    forward, reversed_: in one unit, with their signs
    Valid for direct current and an offset that stays the same between the two.
    Source: common practice; V± = ±IR + E gives both formulas

    >>> reverse(Decimal("0.82"), Decimal("-0.46"))
    Reversal(value=Decimal('0.64'), offset=Decimal('0.18'))
    """
    return Reversal((forward - reversed_) / 2, (forward + reversed_) / 2)


def reverse_three(first: Decimal, reversed_: Decimal, again: Decimal) -> Reversal:
    """Forward, reversed, forward again: value (R₁ − 2 R₂ + R₃)/4, offset (R₁ + 2 R₂ + R₃)/4.

    An offset that drifts evenly between the three drops out of the value.
    first, reversed_, again: in one unit, with their signs
    Valid for direct current and three displays taken at even intervals.
    Source: common practice; V₁ = IR + E, V₂ = −IR + E + d, V₃ = IR + E + 2d
    """
    return Reversal((first - 2 * reversed_ + again) / 4, (first + 2 * reversed_ + again) / 4)


def keeps_no_sign(forward: Decimal, reversed_: Decimal) -> bool:
    """Whether both displays carry the same sign, so that the display may not keep it. Zero has no sign.

    forward, reversed_: in one unit. Valid as a question: an offset larger than the drop does the same.
    Source: V± = ±IR + E (common practice)
    """
    return forward * reversed_ > 0
