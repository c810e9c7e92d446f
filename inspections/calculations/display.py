"""What a display said: from its text to a number, over range, below a value, or nothing."""

import re
from dataclasses import dataclass
from decimal import Decimal

NUMBER = "number"
OVER = "over range"
UNDER = "below"
NOTHING = "no display"

LONGEST_NUMBER = 18

_NUMBER = re.compile(r"(?P<sign>[+\-−]?)(?:(?P<whole>[0-9]+)(?:[.,](?P<part>[0-9]*))?|[.,](?P<bare>[0-9]+))")
_OVER = re.compile(r"[+]?(OL|O\.L\.?|OL\.)", re.IGNORECASE)
_UNDER_ZERO_OVER = re.compile(r"[-−](OL|O\.L\.?|OL\.)", re.IGNORECASE)
_NOTHING = re.compile(r"[-−–—]{2,}|—")
_SPACES = " \t\u00a0\u202f\u2009"


class NumberError(ValueError):
    """A text is not one plain number; the message says why and what to write."""


@dataclass(frozen=True, slots=True)
class Display:
    """kind: NUMBER, OVER, UNDER or NOTHING. number: the value, the x of >x and <x, or None for OL and --.

    decimals: how many digits stood after the point or comma. negative: a minus sign stood before it.
    """

    kind: str
    number: Decimal | None = None
    decimals: int = 0
    negative: bool = False


def _plain(whole: str, part: str, negative: bool) -> Decimal:
    digits = f"{whole}.{part}" if part else whole
    return Decimal(f"-{digits}" if negative else digits)


def _refusal(text: str) -> str:
    if not text:
        return "The number is empty. Write the digits as they were shown, or -- if there were none."
    if "." in text and "," in text:
        return f"“{text}” has a point and a comma. Write one of them, before the decimals, and no grouping."
    if re.fullmatch(r"[+\-−]?[0-9]{1,3}([.,  '’_\u00a0\u202f\u2009][0-9]{3})+", text) or text.count(",") > 1:
        return f"“{text}” looks like grouped digits. Write the digits without grouping, such as 1234.5."
    if re.search(r"[0-9][eE][+\-]?[0-9]", text):
        return f"“{text}” is written with an exponent. Write it out as a plain number."
    return f"“{text}” is not a plain number. Write digits with one point or comma, such as 4.72."


def parse_display(text: str) -> Display:
    """The display text as a Display.

    One comma and no point is a decimal comma. Point and comma together, grouped digits and exponents are
    refused. `OL` and `>x` are over range, `<x` is below x, `--` is no display. - and − are the same sign.
    The number is in the unit of the display, which is not part of the text.
    Raises: NumberError with a sentence for the person who typed it.
    Valid for up to 18 digits. Source: how displays are read and written in the trade (common practice)

    >>> parse_display("1,25").number
    Decimal('1.25')
    >>> parse_display("<0.01").kind
    'below'
    """
    text = text.strip(_SPACES)
    match = _NUMBER.fullmatch(text)
    if match is not None:
        return _number(text, match)
    if _OVER.fullmatch(text):
        return Display(OVER)
    if _UNDER_ZERO_OVER.fullmatch(text):
        return Display(OVER, negative=True)
    if _NOTHING.fullmatch(text):
        return Display(NOTHING)
    if text[:1] in ("<", ">"):
        return _bound(text)
    raise NumberError(_refusal(text))


def _number(text: str, match: re.Match[str]) -> Display:
    sign, whole, part, bare = match.groups()
    whole, part = (whole, part or "") if bare is None else ("0", bare)
    if len(whole) + len(part) > LONGEST_NUMBER:
        raise NumberError(f"“{text}” has more than {LONGEST_NUMBER} digits. Write what the display showed.")
    negative = sign in ("-", "−")
    return Display(NUMBER, _plain(whole, part, negative), len(part), negative)


def _bound(text: str) -> Display:
    inner = parse_display(text[1:])
    if inner.kind != NUMBER or inner.negative or inner.number is None:
        raise NumberError(f"“{text}” is not a bound. Write {text[0]} and one number of zero or more.")
    return Display(OVER if text[0] == ">" else UNDER, inner.number, inner.decimals)


def parse_number(text: str) -> Decimal:
    """One plain number as an exact Decimal, by the same rules as a display.

    Units, validity and source: as `parse_display`. Raises: NumberError

    >>> parse_number("−0,5")
    Decimal('-0.5')
    """
    text = text.strip(_SPACES)
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise NumberError(_refusal(text))
    number = _number(text, match).number
    assert number is not None  # noqa: S101 - a matched number has one
    return number


def step_decimals(step: Decimal) -> int:
    """How many decimals a display with this step shows, both in the same unit.

    Valid for a finite step. Source: decimal notation

    >>> step_decimals(Decimal("0.010")), step_decimals(Decimal("5"))
    (2, 0)
    """
    exponent = step.normalize().as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError("A step is a finite number.")
    return max(0, -exponent)
