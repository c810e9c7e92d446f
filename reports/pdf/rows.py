"""Rows of cells under a head that repeats on every page: tables, lists of facts and plain paragraphs.

Every row is laid out once, when the flowable is made, into strings at places; splitting over pages and
drawing only walk through them, so time grows with the number of rows and no faster.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus.flowables import Flowable

from reports.pdf.lines import wrap
from reports.pdf.shapes import SIDE, colour_of, draw_shape, must_be_acted_on
from reports.pdf.style import CELL, CELL_QUIET, CELL_STRONG, HEAD, INK, LINE, SECOND, SEMIBOLD, Style
from reports.pdf.typeface import width_of
from reports.pdf.words import number

GAP = 6.0  # between columns
FIGURE_GAP = 11.0  # after a column of figures
PAD = 2.6  # above and below a row's text
CLOSE_PAD = 1.1  # the same where no hairline parts the rows
FOLD_AT = 3  # lines
LONELY = 60.0  # a row lower than this does not stand alone at a page's foot
WHOLE = 110.0  # a list without a head that is no taller than this does not break
TALLEST = 320.0  # a row taller than this may break inside, between two lines
_PLAIN_NUMBER = re.compile("[<>]?[+\u2212]?[0-9]+([.,][0-9]+)?")


@dataclass(frozen=True, slots=True)
class Column:
    """`figure`: numbers with their decimals under each other and the units in a column of their own.

    A text in a column that `folds` and would need more than three lines goes across the table, with the cells
    to its right below it.
    """

    head: str
    width: float
    align: str = "left"  # "left", "figure"
    folds: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """Words, with a smaller second line below."""

    text: str
    style: Style = CELL
    second: str | None = None


@dataclass(frozen=True, slots=True)
class Figure:
    """A number as text (decimal point, ASCII minus) and its unit."""

    number: str
    unit: str
    style: Style = CELL_STRONG


@dataclass(frozen=True, slots=True)
class State:
    """A state's shape with its word or words beside it."""

    state: str
    words: str | None = None
    second: str | None = None
    style: Style = CELL


Cell = Text | Figure | State


@dataclass(frozen=True, slots=True)
class Row:
    """Cells from left to right; `notes` stand below, from the second column to the last."""

    cells: Sequence[Cell]
    notes: Sequence[tuple[str, Style]] = ()
    leads_to: str | None = None  # the bookmark behind the first cell


class _String(NamedTuple):
    x: float
    y: float  # of the baseline, downwards from the row's top
    text: str
    style: Style


class _Shape(NamedTuple):
    x: float
    y: float  # of its lower edge, downwards from the row's top
    state: str


@dataclass(slots=True)
class Laid:
    """A row as strings and shapes at places."""

    height: float = 0.0
    strings: list[_String] = field(default_factory=list)
    shapes: list[_Shape] = field(default_factory=list)
    leads_to: str | None = None
    goes_on: bool = False  # the rest of the row follows: no hairline below

    def put(self, x: float, y: float, text: str, style: Style, width: float | None = None) -> float:
        """Wraps the text into `width` points (one line where None) below y; returns the y below it."""
        for line in [text] if width is None else wrap(text, style, width):
            self.strings.append(_String(x, y + style.size, line, style))
            y += style.leading
        return y

    def draw(self, canvas: Canvas, x: float, top: float) -> None:
        for string in self.strings:
            canvas.setFillColor(string.style.colour)
            canvas.setFont(string.style.font, string.style.size)
            canvas.drawString(x + string.x, top - string.y, string.text)
        for shape in self.shapes:
            draw_shape(canvas, shape.state, x + shape.x, top - shape.y, SIDE, colour_of(shape.state))

    def parts(self) -> list["Laid"]:
        """Itself, or pieces of at most TALLEST points that together say the same."""
        if self.height <= TALLEST:
            return [self]
        first = Laid(TALLEST + PAD, shapes=self.shapes, leads_to=self.leads_to, goes_on=True)
        lead = max(string.style.size for string in self.strings)  # room for a line whose foot lies just below
        rest = Laid(self.height - TALLEST + lead)
        for string in self.strings:
            if string.y <= TALLEST:
                first.strings.append(string)
            else:
                rest.strings.append(string._replace(y=string.y - TALLEST + lead))
        return [first, *rest.parts()]


class Rows(Flowable):
    """The flowable. Without a head and hairlines it is a list of facts or a run of paragraphs."""

    def __init__(self, columns: Sequence[Column], rows: Iterable[Row], hairlines: bool = True) -> None:
        super().__init__()
        rows = list(rows)
        layout = _Layout(columns, rows, PAD if hairlines else CLOSE_PAD)
        self._take(layout.head(), [part for row in rows for part in layout.row(row).parts()], hairlines)

    @classmethod
    def _of(cls, head: Laid | None, laid: list[Laid], hairlines: bool) -> "Rows":
        rows = cls.__new__(cls)
        Flowable.__init__(rows)
        rows._take(head, laid, hairlines)
        return rows

    def _take(self, head: Laid | None, laid: list[Laid], hairlines: bool) -> None:
        self.head, self.laid, self.hairlines = head, laid, hairlines

    @property
    def least(self) -> float:
        """The height below which a page should rather be turned: the head and two rows, or a short list."""
        rows = self.laid if self._stays_whole() else self.laid[:2]
        return self._head_height() + sum(row.height for row in rows)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width = width
        self.height = self._head_height() + sum(row.height for row in self.laid)
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        fits = self._how_many_fit(height - self._head_height())
        if not fits or self._stays_whole():
            return []
        return [
            self._of(self.head, self.laid[:fits], self.hairlines),
            self._of(self.head, self.laid[fits:], self.hairlines),
        ]

    def draw(self) -> None:
        top = self.height
        if self.head:
            self.head.draw(self.canv, 0, top)
            top -= self.head.height
            self._rule(top, INK, 0.9)
        for row in self.laid:
            row.draw(self.canv, 0, top)
            if row.leads_to:
                area = (0, top - 12, 24, top)
                self.canv.linkRect("", row.leads_to, area, relative=1, Border="[0 0 0]")
            top -= row.height
            if self.hairlines and not row.goes_on:
                self._rule(top, LINE, 0.6)

    def _rule(self, y: float, colour: object, width: float) -> None:
        self.canv.setStrokeColor(colour)
        self.canv.setLineWidth(width)
        self.canv.line(0, y, self.width, y)

    def _head_height(self) -> float:
        return self.head.height if self.head else 0.0

    def _stays_whole(self) -> bool:
        return not self.head and sum(row.height for row in self.laid) <= WHOLE

    def _how_many_fit(self, height: float) -> int:
        fits, used = 0, 0.0
        for row in self.laid:
            used += row.height
            if used > height:
                break
            fits += 1
        alone = len(self.laid) - fits == 1
        if fits > 2 and alone:  # no row is left alone on the next page
            fits -= 1
        lonely = fits == 1 and len(self.laid) > 1 and self.laid[0].height < LONELY
        return 0 if lonely else fits


class _Layout:
    """Where the columns stand, and how wide the units and decimals of each are."""

    def __init__(self, columns: Sequence[Column], rows: Sequence[Row], pad: float) -> None:
        self.columns, self.pad = columns, pad
        self.left = [sum(c.width for c in columns[:n]) for n in range(len(columns) + 1)]
        self.unit = [0.0] * len(columns)
        self.decimals = [0.0] * len(columns)
        for row in rows:
            for n, cell in enumerate(row.cells):
                if isinstance(cell, Figure):
                    self.unit[n] = max(self.unit[n], _width(cell.unit, CELL))
                    self.decimals[n] = max(self.decimals[n], _width(_decimals(cell.number), cell.style))

    def head(self) -> Laid | None:
        if not any(column.head for column in self.columns):
            return None
        laid = Laid()
        lines = [wrap(c.head, HEAD, self._right(n) - self.left[n]) for n, c in enumerate(self.columns)]
        deepest = max(len(each) for each in lines)
        for n, (column, each) in enumerate(zip(self.columns, lines, strict=True)):
            y = (deepest - len(each)) * HEAD.leading
            for line in each:
                x = self.left[n] if column.align == "left" else self._right(n) - _width(line, HEAD)
                y = laid.put(x, y, line, HEAD)
        laid.height = deepest * HEAD.leading + PAD
        return laid

    def row(self, row: Row) -> Laid:
        laid = Laid(leads_to=row.leads_to)
        bottom, top = 0.0, self.pad
        for n, cell in enumerate(row.cells):
            if isinstance(cell, Text) and self._folds(n, cell):
                top = bottom = self._words(laid, n, cell, top, self.left[-1] - self.left[n])
            else:
                bottom = max(bottom, self._cell(laid, n, cell, top))
        for text, style in row.notes:
            x = self.left[1] if len(self.columns) > 1 else 0.0
            bottom = laid.put(x, bottom, text, style, self.left[-1] - x)
        laid.height = bottom + self.pad
        return laid

    def _cell(self, laid: Laid, n: int, cell: Cell, y: float) -> float:
        if isinstance(cell, Figure):
            return self._figure(laid, n, cell, y)
        width = self._right(n) - self.left[n]
        if isinstance(cell, State):
            return self._state(laid, n, cell, y, width)
        if self.columns[n].align == "left":
            return self._words(laid, n, cell, y, width)
        for line in wrap(cell.text, cell.style, width):
            y = laid.put(self._right(n) - _width(line, cell.style), y, line, cell.style)
        return y

    def _words(self, laid: Laid, n: int, cell: Text, y: float, width: float) -> float:
        y = laid.put(self.left[n], y, cell.text, cell.style, width)
        return laid.put(self.left[n], y, cell.second, SECOND, width) if cell.second else y

    def _folds(self, n: int, cell: Text) -> bool:
        width = self._right(n) - self.left[n]
        return self.columns[n].folds and len(wrap(cell.text, cell.style, width)) > FOLD_AT

    def _figure(self, laid: Laid, n: int, cell: Figure, y: float) -> float:
        text = number(cell.number)
        unit_x = self._right(n) - self.unit[n]
        shift = self.decimals[n] - _width(_decimals(cell.number), cell.style)
        if not _PLAIN_NUMBER.fullmatch(text):
            shift = 0.0
        x = unit_x - 2.5 - shift - _width(text, cell.style)
        if x < self.left[n]:
            bottom = laid.put(self.left[n], y, text, cell.style, unit_x - 2.5 - self.left[n])
        else:
            bottom = laid.put(x, y, text, cell.style)
        laid.put(unit_x, y, cell.unit, CELL_QUIET)
        return bottom

    def _state(self, laid: Laid, n: int, cell: State, y: float, width: float) -> float:
        x, width = self.left[n] + SIDE + 4, width - SIDE - 4
        laid.shapes.append(_Shape(self.left[n], y + 10, cell.state))
        style = cell.style._replace(colour=colour_of(cell.state))
        if must_be_acted_on(cell.state):
            style = style._replace(font=SEMIBOLD)
        y = laid.put(x, y, cell.words or cell.state, style, width)
        return laid.put(x, y, cell.second, SECOND, width) if cell.second else y

    def _right(self, n: int) -> float:
        gap = FIGURE_GAP if self.columns[n].align == "figure" else GAP
        return self.left[n + 1] - (gap if n + 1 < len(self.columns) else 0)


def _width(text: str, style: Style) -> float:
    return width_of(text, style.font, style.size)


def _decimals(text: str) -> str:
    found = _PLAIN_NUMBER.fullmatch(number(text))
    return (found[1] or "") if found else ""
