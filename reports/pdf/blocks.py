"""What the pages are put together from: headings, paragraphs, lists of facts."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from reportlab.platypus.doctemplate import CondPageBreak
from reportlab.platypus.flowables import Flowable

from reports.pdf.lines import wrap
from reports.pdf.rows import Column, Row, Rows, Text
from reports.pdf.style import CELL, GROUP, LABEL, SECTION, TEXT, Style

LABEL_WIDTH = 96.0


class Heading(Flowable):
    """A heading that stands in the outline and can be linked to."""

    def __init__(self, text: str, key: str, style: Style, width: float, level: int) -> None:
        super().__init__()
        self.text, self.key, self.style, self.level = text, key, style, level
        self.lines = wrap(text, style, width)
        self.height = len(self.lines) * style.leading + 3
        self.spaceBefore = 16 if level == 0 else 10

    def numbered(self, number: int) -> None:
        """Puts the section's number before its words."""
        self.lines[0] = f"{number}\u00a0\u00a0{self.lines[0]}"

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width = width
        return width, self.height

    def draw(self) -> None:
        self.canv.bookmarkHorizontal(self.key, 0, self.height + 6)
        self.canv.addOutlineEntry(" ".join(self.lines), self.key, self.level)
        self.canv.setFillColor(self.style.colour)
        self.canv.setFont(self.style.font, self.style.size)
        for n, line in enumerate(self.lines):
            self.canv.drawString(0, self.height - self.style.size - n * self.style.leading, line)


def section(title: str, key: str, parts: Sequence[Flowable], width: float) -> list[Flowable]:
    """A heading that never stands alone at a page's foot, then its parts."""
    heading = Heading(title, key, SECTION, width, 0)
    return [CondPageBreak(heading.spaceBefore + heading.height + _least(parts)), heading, *parts]


def group(title: str, key: str, parts: Sequence[Flowable], width: float) -> list[Flowable]:
    """The same one level below."""
    heading = Heading(title, key, GROUP, width, 1)
    return [CondPageBreak(heading.spaceBefore + heading.height + _least(parts)), heading, *parts]


def paragraphs(texts: Iterable[str], width: float, style: Style = TEXT) -> Rows:
    return Rows((Column("", width),), [Row((Text(text, style),)) for text in texts], hairlines=False)


def facts_list(pairs: Iterable[tuple[str, str]], width: float) -> Rows:
    """Labels with what stands behind them; the same label is not repeated in the next line."""
    rows, before = [], ""
    for label, words in pairs:
        rows.append(Row((Text("" if label == before else label, LABEL), Text(words, TEXT))))
        before = label
    return Rows((Column("", LABEL_WIDTH), Column("", width - LABEL_WIDTH)), rows, hairlines=False)


def table(columns: Sequence[Column], rows: Iterable[Row], width: float) -> Rows:
    """A table whose one column of width 0 takes what the others leave."""
    left = width - sum(column.width for column in columns)
    return Rows([replace(column, width=column.width or left) for column in columns], rows)


def cell(text: str, style: Style = CELL, second: str | None = None) -> Text:
    return Text(text, style, second)


def _least(parts: Sequence[Flowable]) -> float:
    """The height of all that stands before the first table, and of the beginning of that."""
    height = 0.0
    for part in parts:
        if isinstance(part, Heading):
            height += part.spaceBefore + part.height
        elif isinstance(part, Rows):
            height += part.least
            if part.head:
                break
    return height
