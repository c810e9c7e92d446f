"""Reading one cell: strict, exact, and with a sentence where it cannot be read."""

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any

from sites.reach import out_of_reach
from sites.unseen import unseen_in

Reader = Callable[[str], Any]

# A spreadsheet would run a cell that begins like this as a formula.
_FORMULA = tuple("=+-@＝＋－＠")
_NUMBER = re.compile(r"[+\-−]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)")
_MOST_DIGITS = 18
_SPACES = re.compile(r"[ \u00a0\u202f\u2009]+")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_TAPE = re.compile(r"(?P<width>[0-9.,]+) ?[x×] ?(?P<thickness>[0-9.,]+) ?mm")
_QUANTITY = re.compile(r"(?P<number>[+\-−]?[0-9.,]+) ?(?P<unit>\S*)")

LENGTHS_IN_M = {"m": Decimal(1), "cm": Decimal("0.01"), "mm": Decimal("0.001"), "ft": Decimal("0.3048")}
LENGTHS_IN_MM = {"mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000)}
AREAS_IN_MM2 = {"mm²": Decimal(1), "mm2": Decimal(1), "cm²": Decimal(100), "cm2": Decimal(100)}


class CellFault(ValueError):
    """A cell that cannot be read; the message says what to write."""


def text(longest: int) -> Reader:
    """Words in one line. Markup stays what it is, letters; the beginning of a formula is refused."""

    def read(cell: str) -> str:
        words = " ".join(unicodedata.normalize("NFC", cell).split())
        if words.startswith(_FORMULA):
            raise CellFault(
                f"“{words[:40]}” begins like a formula. Write words that do not begin with =, +, - or @."
            )
        if "\n" in cell or "\r" in cell:
            raise CellFault("The cell has a line break. Write it in one line.")
        if fault := unseen_in(words, "The cell"):
            raise CellFault(fault)
        if len(words) > longest:
            raise CellFault(f"The cell has {len(words)} characters; at most {longest} have room.")
        return words

    return read


def one_of(what: str, choices: Iterable[str] | Mapping[str, Any]) -> Reader:
    """One of a few words, in any case of letters. what: what the words are, e.g. "a kind of part"."""
    pairs = choices.items() if isinstance(choices, Mapping) else ((_word(one), one) for one in choices)
    known = {str(word).casefold(): value for word, value in pairs}
    names = (
        [str(word) for word in choices] if isinstance(choices, Mapping) else [_word(one) for one in choices]
    )

    def read(cell: str) -> Any:
        try:
            return known[" ".join(cell.split()).casefold()]
        except KeyError:
            raise CellFault(f"“{cell[:60]}” is not {what}. Write {listed(names)}.") from None

    return read


def _word(one: Any) -> str:
    return str(one.value if isinstance(one, Enum) else one)


def listed(words: Iterable[str]) -> str:
    """Words as a sentence lists them: a, b or c."""
    *most, last = list(words)
    return f"{', '.join(most)} or {last}" if most else last


yes_no = one_of("yes or no", {"yes": True, "no": False})


def number(cell: str) -> Decimal:
    """A plain number, exact. One comma is a decimal comma; grouping and exponents are refused."""
    if not _NUMBER.fullmatch(cell) or sum(letter.isdigit() for letter in cell) > _MOST_DIGITS:
        raise CellFault(
            f"“{cell[:40]}” is not a plain number. Write up to {_MOST_DIGITS} digits with one point or comma."
        )
    return Decimal(cell.replace(",", ".").replace("−", "-"))


def between(least: int, most: int, what: str) -> Reader:
    """A number within bounds, both included. what: how the sentence begins, e.g. "The latitude"."""

    def read(cell: str) -> Decimal:
        value = number(cell)
        if not least <= value <= most:
            raise CellFault(f"{what} {cell} is out of range. It lies between {least} and {most}.")
        return value

    return read


def whole(least: int, most: int) -> Reader:
    """A whole number within bounds, both included."""

    def read(cell: str) -> int:
        if not re.fullmatch(r"[0-9]{1,6}", cell) or not least <= int(cell) <= most:
            raise CellFault(f"“{cell[:40]}” is not a whole number from {least} to {most}.")
        return int(cell)

    return read


def day(cell: str) -> date:
    """A day as 2027-03-12. Other spellings are refused: 03/12/2027 means two days."""
    if _DAY.fullmatch(cell):
        try:
            found = date.fromisoformat(cell)
        except ValueError:
            raise CellFault(f"There is no day {cell}.") from None
        if fault := out_of_reach(found):
            raise CellFault(fault)
        return found
    raise CellFault(f"“{cell[:40]}” is not a day. Write year, month and day, such as 2027-03-12.")


def quantity(units: Mapping[str, Decimal], example: str) -> Reader:
    """A number above zero with its unit. Returns: in the unit whose factor is 1. example: "60 m"."""

    def read(cell: str) -> Decimal:
        match = _QUANTITY.fullmatch(_SPACES.sub(" ", cell))
        if match is None or match["unit"] not in units:
            raise CellFault(f"“{cell[:40]}” does not give a number and a unit. Write {example}.")
        return _above_zero(number(match["number"]) * units[match["unit"]], cell)

    return read


def section(cell: str) -> Decimal:
    """A conductor's cross-section [mm²]: `75 mm²`, or a tape by width and thickness, `25 x 3 mm`."""
    tape = _TAPE.fullmatch(_SPACES.sub(" ", cell))
    if tape is not None:
        return _above_zero(number(tape["width"]) * number(tape["thickness"]), cell)
    value: Decimal = quantity(AREAS_IN_MM2, "75 mm², or 25 x 3 mm for a tape")(cell)
    return value


def _above_zero(value: Decimal, cell: str) -> Decimal:
    if value <= 0:
        raise CellFault(f"“{cell[:40]}” is not above zero.")
    return value
