"""Cells with quantities, displays and times."""

import re
from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from typing import Any, NamedTuple

from inspections.calculations.display import NUMBER, OVER, NumberError, parse_display
from inspections.calculations.printing import plain
from inspections.calculations.temperature import HIGHEST_C, LOWEST_C
from inspections.quantities import QuantityError, parse_quantity, parse_unit
from sites.imports.cells import CellFault, Reader, listed, number, one_of, text
from sites.reach import out_of_reach

LONGEST_DISPLAY = 24
# Far more than any test instrument drives: a figure beyond it is mA written as A, or another slip.
MOST_CURRENT_A = Decimal(1000)
_TIME = re.compile(
    r"(?P<day>[0-9]{4}-[0-9]{2}-[0-9]{2})[ T](?P<time>[0-9]{2}:[0-9]{2}(?::[0-9]{2})?) ?"
    r"(?P<offset>Z|[+-][0-9]{2}:[0-9]{2})?"
)


class Shown(NamedTuple):
    """A quantity as people write it, and in SI. unit: as the product prints it"""

    text: str
    value: Decimal
    unit: str


def quantity(dimension: str, least: Decimal | None = None) -> Reader:
    """A number with its unit, in SI; not below ``least`` where given."""

    def read(cell: str) -> Decimal:
        value = _explained(parse_quantity, cell, dimension)
        if least is not None and value < least:
            raise CellFault(f"“{cell}” is below {least}.")
        return value

    return read


def above_zero(dimension: str) -> Reader:
    """A number above zero with its unit, in SI."""

    def read(cell: str) -> Decimal:
        value = _explained(parse_quantity, cell, dimension)
        if value <= 0:
            raise CellFault(f"“{cell}” is not above zero.")
        return value

    return read


def within(dimension: str, least: Decimal, most: Decimal, told: str) -> Reader:
    """A number with its unit, in SI, from ``least`` to ``most``. told: what is said of one outside, after the cell"""

    def read(cell: str) -> Decimal:
        value = _explained(parse_quantity, cell, dimension)
        if not least <= value <= most:
            raise CellFault(f"“{cell}” {told}")
        return value

    return read


metal_temperature = within(
    "temperature",
    LOWEST_C,
    HIGHEST_C,
    f"lies outside {plain(LOWEST_C)} to {plain(HIGHEST_C)} °C, where the law of metals holds. Check the number.",
)
test_current = within(
    "current",
    Decimal(0),
    MOST_CURRENT_A,
    f"is no test current: one lies between 0 and {MOST_CURRENT_A} A. Check the number and its unit.",
)


def set_current(cell: str) -> Decimal:
    """What an instrument was set to drive, in A."""
    above_zero("current")(cell)
    return test_current(cell)


def lead_null(cell: str) -> Decimal:
    """What the leads have, in ohms."""
    value: Decimal = _explained(parse_quantity, cell, "resistance")
    if value < 0:
        raise CellFault(f"“{cell}” is below zero, which no lead's resistance is. Write it without the sign.")
    return value


def resistance_as_written(longest: int) -> Reader:
    """A resistance above zero that keeps its own spelling beside the value."""
    value_of = above_zero("resistance")
    words = text(longest)

    def read(cell: str) -> Shown:
        value = value_of(cell)
        written = words(cell)
        unit = _explained(parse_unit, written.lstrip("0123456789.,+−- \u00a0\u202f"), "resistance")
        return Shown(written, value, unit)

    return read


def ohm_unit(cell: str) -> str:
    """A unit of resistance as the product prints it."""
    return _explained(parse_unit, cell, "resistance")


def display(cell: str) -> str:
    """What a display showed, kept as it is: a number, OL, >x, <x or --."""
    if len(cell) > LONGEST_DISPLAY:
        raise CellFault(
            f"“{cell[:40]}” is longer than any display. Write at most {LONGEST_DISPLAY} characters."
        )
    _explained(parse_display, cell)
    return cell


def displays(most: int) -> Reader:
    """Further displays, separated by |, each a number."""

    def read(cell: str) -> tuple[str, ...]:
        shown = tuple(one.strip() for one in cell.split("|"))
        if len(shown) > most:
            raise CellFault(f"The cell holds {len(shown)} displays. At most {most} are taken.")
        for one in shown:
            _require_number(one)
        return shown

    return read


def positions(cell: str) -> tuple[tuple[Decimal, str], ...]:
    """Positions of the potential probe and what was shown there: `52: 57.5|62: 58.0|72: 59.0`, in percent."""
    found: dict[Decimal, str] = {}
    for one in cell.split("|"):
        percent_text, colon, shown = (piece.strip() for piece in one.partition(":"))
        if not colon:
            raise CellFault(
                f"“{one.strip()}” is no position. Write percent, colon and display, such as 62: 58.0."
            )
        percent = number(percent_text)
        if not 0 < percent < 100:
            raise CellFault(f"The position {percent_text} % lies outside the distance. Write 0 to 100.")
        if percent in found:
            raise CellFault(f"The position {percent_text} % is there twice.")
        _require_number(shown)
        found[percent] = shown
    if len(found) > 30:
        raise CellFault("The cell holds more than 30 positions.")
    return tuple(found.items())


def dropped(cell: str) -> tuple[tuple[str, str], ...]:
    """Displays left out, each with its reason: `7.41: clamp slipped|6.90: display still moving`."""
    found = []
    for one in cell.split("|"):
        shown, colon, reason = (piece.strip() for piece in one.partition(":"))
        if not colon or not reason:
            raise CellFault(
                f"“{one.strip()[:60]}” gives no reason. Write display, colon and reason, such as 7.41: clamp slipped."
            )
        if len(reason) > 200:
            raise CellFault("A reason is longer than 200 characters. Say it in fewer.")
        if len(shown.split()) != 1:
            raise CellFault(f"“{shown[:40]}” is not what a display shows.")
        _explained(parse_display, shown)
        found.append((shown, " ".join(reason.split())))
    if len(found) > 20:
        raise CellFault("The cell holds more than 20 displays.")
    return tuple(found)


def several(what: str, choices: Any) -> Reader:
    """Some of a few words, separated by |."""
    one = one_of(what, choices)

    def read(cell: str) -> tuple[Any, ...]:
        return tuple(dict.fromkeys(one(piece.strip()) for piece in cell.split("|")))

    return read


def time(cell: str) -> datetime:
    """An instant with its offset, or the wall time at the site (naive): `2027-05-03 10:20`."""
    match = _TIME.fullmatch(cell)
    if match is None:
        raise CellFault(f"“{cell[:40]}” is not a time. Write it such as 2027-05-03 10:20.")
    try:
        found = datetime.fromisoformat(f"{match['day']}T{match['time']}{match['offset'] or ''}")
    except ValueError:
        raise CellFault(f"There is no such time as {cell}.") from None
    if fault := out_of_reach(found.date()):
        raise CellFault(fault)
    return found


def or_word(word: str, read: Reader) -> Reader:
    """One word that stands for “none”, or what ``read`` reads. The word becomes the text itself."""

    def either(cell: str) -> Any:
        return word if cell.casefold() == word else read(cell)

    return either


def seasons(cell: str) -> str:
    """Months of each season, seasons separated by |: `3 4 5|9 10 11`. Returns: as the record keeps them."""
    kept = []
    for season in cell.split("|"):
        months = season.split()
        if not months or any(not month.isdecimal() or not 1 <= int(month) <= 12 for month in months):
            raise CellFault(
                f"“{season.strip()}” is no season. Write its month numbers, such as 3 4 5|9 10 11."
            )
        kept.append(",".join(str(int(month)) for month in months))
    return ";".join(kept)


def _require_number(shown: str) -> None:
    if _explained(parse_display, shown).kind not in (NUMBER, OVER):
        raise CellFault(f"“{shown}” is not a number that a display shows.")


def _explained(read: Callable[..., Any], *given: Any) -> Any:
    try:
        return read(*given)
    except (QuantityError, NumberError) as fault:
        raise CellFault(str(fault)) from None


__all__ = [
    "Shown",
    "above_zero",
    "display",
    "displays",
    "lead_null",
    "listed",
    "metal_temperature",
    "ohm_unit",
    "positions",
    "quantity",
    "set_current",
    "test_current",
    "time",
]
