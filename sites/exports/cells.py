"""One cell of a file: its type, the guard against formulas, and the facts in a cell drawn for a page."""

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal
from html.parser import HTMLParser
from typing import Any

from django.utils.safestring import SafeString

Cell = str | int | Decimal | date | datetime | None

# What a spreadsheet takes for the beginning of a formula, also in full width.
_FORMULA = tuple("=+-@＝＋－＠")
_LEADING = ("\t", "\r", "\n")
_NUMBER = re.compile(r"[+\-−]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+\-−]?[0-9]+)?")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_DAY = re.compile(r"[0-9]{1,2} [A-Z][a-z]{2} [0-9]{4}")
_PLACEHOLDER = "\ufffd"


def guarded(text: str) -> str:
    """The text with a leading apostrophe where a spreadsheet would run it; a number stays as it is."""
    if not text.startswith(_LEADING):
        begins = text.lstrip(" \u00a0")
        if not begins.startswith(_FORMULA) or _NUMBER.fullmatch(begins):
            return text
    return f"'{text}"


def printable(text: str) -> str:
    """The text without the characters that neither format can hold, each replaced so that it is seen."""
    return _CONTROL.sub(_PLACEHOLDER, text)


def typed(value: Any) -> Cell:
    """What a column or an attribute gives, as a number, a day, an instant in UTC, or words.

    A floating-point number has no place in the record and is refused: TypeError.
    """
    if value is None or (isinstance(value, int) and not isinstance(value, bool)):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        raise TypeError(f"{value!r} is a binary fraction. Give a file its exact decimal.")
    if isinstance(value, datetime):
        return value.astimezone(UTC)
    if isinstance(value, Decimal | date):
        return value
    return str(value)


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a cell of a page says: its first line, the unit of a figure, and the smaller lines below.

    value: a number or a day where the first line is nothing else
    """

    value: Cell
    unit: str = ""
    besides: tuple[str, ...] = ()

    @property
    def whole(self) -> Cell:
        """All of it in one cell; typed where there is nothing beside it."""
        first = self.value if not self.unit else f"{self.value} {self.unit}"
        return first if not self.besides else "; ".join([_words(first), *self.besides])


def drawn(cell: Any) -> Drawn:
    """Reads a cell as ``table.html`` shows it: figures, days and second lines are known by their mark-up."""
    if not isinstance(cell, SafeString):
        return Drawn(_day(cell) if isinstance(cell, str) else typed(cell))
    reader = _CellReader()
    reader.feed(cell)
    reader.close()
    lines = [" ".join(line.split()) for line in "".join(reader.words).split("\n")]
    first, *below = [line for line in lines if line] or [""]
    besides = tuple(below)
    if reader.figure and first == " ".join(f"{reader.figure} {reader.unit}".split()):
        return Drawn(_number(reader.figure), reader.unit, besides)
    if reader.instants and first == reader.instants[0][1]:
        return Drawn(_instant(reader.instants[0][0]), "", besides)
    return Drawn(_day(first), "", besides)


def _words(value: Cell) -> str:
    """As a page would write it, in a cell that holds more than this."""
    if isinstance(value, datetime):
        return f"{value:%-d %b %Y, %H:%M} UTC"
    return f"{value:%-d %b %Y}" if isinstance(value, date) else str(value)


def _day(text: str) -> Cell:
    """A day where the text is one as pages write it (12 Mar 2027), else the text."""
    if _DAY.fullmatch(text):
        try:
            return datetime.strptime(text, "%d %b %Y").replace(tzinfo=UTC).date()
        except ValueError:
            return text
    return text


def _instant(text: str) -> Cell:
    return typed(datetime.fromisoformat(text)) if "T" in text else date.fromisoformat(text)


def _number(text: str) -> Cell:
    """The number of a display that shows one, else its text (OL, <0.01)."""
    if not _NUMBER.fullmatch(text):
        return text
    return Decimal(text.replace("−", "-").replace(",", "."))


@dataclass
class _CellReader(HTMLParser):
    """Collects words; a line feed stands before each further line."""

    words: list[str] = field(default_factory=list)
    figure: str = ""
    unit: str = ""
    instants: list[tuple[str, str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self._open: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        classes = (given.get("class") or "").split()
        kind = next((name for name in ("visually-hidden", "reading", "unit") if name in classes), "")
        if tag == "svg":
            kind = "visually-hidden"
        if tag == "br" or {"second", "d-block"} & set(classes) or tag in ("li", "div", "p"):
            self.words.append("\n")
        if tag == "time":
            self.instants.append((given.get("datetime") or "", ""))
        if tag not in ("br", "use", "img", "input", "wbr", "hr"):
            self._open.append((tag, kind))

    def handle_endtag(self, tag: str) -> None:
        while self._open:
            if self._open.pop()[0] == tag:
                break

    def handle_data(self, data: str) -> None:
        kinds = [kind for _, kind in self._open]
        if "visually-hidden" in kinds:
            return
        self.words.append(data)
        if "unit" in kinds:
            self.unit += data.strip()
        elif "reading" in kinds:
            self.figure += data
        if self._open and self._open[-1][0] == "time":
            written, words = self.instants[-1]
            self.instants[-1] = (written, words + data)
