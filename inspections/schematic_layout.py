"""Where the marks of a structure's schematic stand: pure geometry, in the drawing's own units.

A schematic is read from the roof down: sections in their order, each a head and then rows of cells. A cell holds a
test point, or a part that has none. No two heads or cells overlap, and nothing lies outside the sheet.
"""

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

COLUMN = 118.0
ROW, HEAD, GAP, EDGE = 62.0, 40.0, 16.0, 4.0
TEXT_LEFT, TEXT_RIGHT = 34.0, 4.0
LINES = 2
# Letters by their width in ems, rounded up: as the typeface of the pages has them in its semibold face.
SIZE = 13.0
_WIDTHS = {
    **dict.fromkeys("ijlI|'.,:;! \u00a0", 0.32), **dict.fromkeys("frt-()[]{}/\\", 0.39),
    **dict.fromkeys("abcdeghknopqsuvxyz0123456789\"#$*+<=>?^_`~", 0.58),
    **dict.fromkeys("ABCDEFGHJKLNOPQRSTUVXYZ", 0.68),
    **dict.fromkeys("mwMW%&@", 0.88), "…": 0.97,
}  # fmt: skip
_OTHER, _FULL, _FULL_FROM = 0.94, 1.4, "\u1100"


@dataclass(frozen=True, slots=True)
class Cell:
    """One mark. key: unique on the drawing; title: in bold, whole wherever it fits; words: below it, may be cut

    part: cells of the same part that stand beside each other are joined
    """

    key: str
    title: str
    words: str
    part: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """Cells of one kind in one system. name: e.g. "Down-conductors"; aside: what is said beside it"""

    kind: str
    name: str
    aside: str
    cells: Sequence[Cell]


@dataclass(frozen=True, slots=True)
class Box:
    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height

    def meets(self, other: "Box") -> bool:
        """Whether the two share more than an edge."""
        apart_across = self.right <= other.x or other.right <= self.x
        return not (apart_across or self.bottom <= other.y or other.bottom <= self.y)


@dataclass(frozen=True, slots=True)
class PlacedHead:
    section: Section
    box: Box


@dataclass(frozen=True, slots=True)
class PlacedCell:
    """joined: the cell to its right belongs to the same part; lines: its words, broken and cut to fit"""

    section: Section
    cell: Cell
    box: Box
    title: str
    lines: tuple[str, ...]
    joined: bool = False


@dataclass(frozen=True, slots=True)
class Run:
    """A conductor or the ground, along the top of a row of cells."""

    kind: str
    y: float
    left: float
    right: float


@dataclass(slots=True)
class Sheet:
    width: float
    height: float = EDGE
    heads: list[PlacedHead] = field(default_factory=list)
    cells: list[PlacedCell] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)


def laid_out(sections: Sequence[Section], width: float) -> Sheet:
    """The sheet, as high as it must be.

    width: of the sheet, in the drawing's units; at least two columns of COLUMN fit
    Raises: ValueError where the sheet is too narrow
    """
    columns = int((width - 2 * EDGE) // COLUMN)
    if columns < 2:
        raise ValueError(f"A schematic is at least {2 * COLUMN + 2 * EDGE:g} wide, not {width:g}.")
    sheet = Sheet(width)
    across = (width - 2 * EDGE) / columns
    for section in sections:
        sheet.heads.append(PlacedHead(section, Box(EDGE, sheet.height, width - 2 * EDGE, HEAD)))
        sheet.height += HEAD
        for row in _rows(section.cells, columns, across):
            _place(sheet, section, row, across)
        sheet.height += GAP
    sheet.height += EDGE if not sections else EDGE - GAP
    return sheet


def parted(sections: Sequence[Section], width: float, tallest: float) -> list[Sheet]:
    """The same on several sheets, none higher than ``tallest``: paper cannot break a picture between its rows.

    A section that is higher than a sheet goes on under its own head.
    tallest: at least a head and a row of cells fit
    Raises: ValueError where a sheet is too narrow or too low
    """
    most = int((tallest - 2 * EDGE - HEAD) // ROW)
    if most < 1:
        raise ValueError(f"A sheet is at least {2 * EDGE + HEAD + ROW:g} high, not {tallest:g}.")
    found: list[list[Section]] = []
    for section in (piece for whole in sections for piece in _pieces(whole, width, most)):
        if found and laid_out([*found[-1], section], width).height <= tallest:
            found[-1].append(section)
        else:
            found.append([section])
    return [laid_out(group, width) for group in found]


def _pieces(section: Section, width: float, most: int) -> Iterator[Section]:
    """A section in pieces of so many rows."""
    columns = int((width - 2 * EDGE) // COLUMN)
    rows = list(_rows(section.cells, max(columns, 2), (width - 2 * EDGE) / max(columns, 2)))
    for start in range(0, len(rows) or 1, most):
        cells = [cell for row in rows[start : start + most] for cell, _ in row]
        yield replace(section, cells=cells, name=section.name + (", continued" if start else ""))


def _rows(cells: Sequence[Cell], columns: int, across: float) -> Iterator[list[tuple[Cell, int]]]:
    """Cells with the columns each takes, a row at a time, in their order."""
    row: list[tuple[Cell, int]] = []
    taken = 0
    for cell in cells:
        span = 1 if _fits(cell, across) else 2
        if taken + span > columns:
            yield row
            row, taken = [], 0
        row.append((cell, span))
        taken += span
    if row:
        yield row


def _fits(cell: Cell, across: float) -> bool:
    room = across - TEXT_LEFT - TEXT_RIGHT
    return width_of(cell.title) <= room and not cut(cell.words, room)


def _place(sheet: Sheet, section: Section, row: Sequence[tuple[Cell, int]], across: float) -> None:
    x = EDGE
    for index, (cell, span) in enumerate(row):
        box = Box(x, sheet.height, across * span, ROW)
        room = box.width - TEXT_LEFT - TEXT_RIGHT
        following = row[index + 1][0] if index + 1 < len(row) else None
        joined = bool(cell.part) and following is not None and following.part == cell.part
        title = shortened(cell.title, room)
        sheet.cells.append(PlacedCell(section, cell, box, title, broken(cell.words, room), joined))
        x += box.width
    sheet.runs.append(Run(section.kind, sheet.height, EDGE, x))
    sheet.height += ROW


def broken(words: str, room: float) -> tuple[str, ...]:
    """The words in at most two lines that fit, the last cut where it must be."""
    lines: list[str] = []
    for word in words.split():
        if lines and width_of(f"{lines[-1]} {word}") <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    kept = lines[:LINES]
    if len(lines) > LINES:
        kept[-1] = " ".join(lines[LINES - 1 :])
    return tuple(shortened(line, room) for line in kept)


def cut(words: str, room: float) -> bool:
    """Whether ``broken`` has to leave something out."""
    return " ".join(broken(words, room)) != " ".join(words.split())


def shortened(words: str, room: float) -> str:
    """The words where they fit, else as many of their letters as fit before “…”.

    >>> shortened("tower finial and ridge tape", 80), shortened("W" * 300, 80), shortened("tower", 80)
    ('tower finial…', 'WWWWW…', 'tower')
    """
    if width_of(words) <= room:
        return words
    left, kept = room - width_of("…"), 0
    while (left := left - width_of(words[kept])) >= 0:
        kept += 1
    return f"{words[:kept].rstrip()}…"


def width_of(words: str) -> float:
    """At most so wide the words are on the drawing, in its own units."""
    return SIZE * sum(map(_ems, words))


def _ems(letter: str) -> float:
    if letter in _WIDTHS:
        return _WIDTHS[letter]
    if unicodedata.combining(letter):
        return 0.0
    return _FULL if letter >= _FULL_FROM else _OTHER
