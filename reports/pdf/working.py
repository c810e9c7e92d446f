"""The working of a reading on the lead: a line with a fixing at each step, down to the earth symbol.

There the outcome stands. The line means "in this order" and is used for nothing else.
"""

from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.platypus.flowables import Flowable

from reports.facts import Reading
from reports.pdf.lines import shortened, wrap
from reports.pdf.rows import Laid
from reports.pdf.shapes import colour_of, draw_shape
from reports.pdf.style import CELL, CELL_QUIET, EDGE, GROUP, LINE, OUTCOME, SECOND, WHITE
from reports.pdf.typeface import width_of
from reports.pdf.words import figures, sentence

_LEAD_X, _STEP_X, _TEXT_X = 13.0, 27.0, 88.0
_SOURCE_WIDTH = 50 * mm
_INSET = 7.0
_BETWEEN = 3.0
_TITLE = 17.0
_RESULT = 22.0
_LEAST_BEFORE = 5  # steps before a break, so that nobody has to turn the page for the first few
_LEAST_AFTER = 3


class Working(Flowable):
    """One reading's steps in a frame, broken between two steps where the page ends, never near either end."""

    spaceBefore = 9

    def __init__(self, reading: Reading, key: str, width: float, page_height: float) -> None:
        super().__init__()
        self.title = f"Point {reading.point_number}, {reading.place}"
        self.key, self.outcome, self.width, self.page_height = key, reading.outcome, width, page_height
        self.steps = [part for line in _lines_of(reading) for part in self._step(*line).parts()]
        self.first = self.last = True

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        end = _RESULT if self.last else 0.0
        self.height = _TITLE + 2 * _INSET + sum(step.height for step in self.steps) + end
        return width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        fits, used = 0, _TITLE + 2 * _INSET
        while fits < len(self.steps) - _LEAST_AFTER and used + self.steps[fits].height <= height:
            used += self.steps[fits].height
            fits += 1
        if fits < _LEAST_BEFORE and self.height <= self.page_height:
            return []  # too little would stand here: the whole goes to the next page
        return [self._part(0, fits), self._part(fits, len(self.steps))] if fits else []

    def _part(self, start: int, stop: int) -> "Working":
        part = Working.__new__(Working)
        Flowable.__init__(part)
        part.title, part.key, part.outcome = self.title, self.key, self.outcome
        part.width, part.page_height = self.width, self.page_height
        part.steps = self.steps[start:stop]
        part.first, part.last = self.first and start == 0, self.last and stop == len(self.steps)
        return part

    def _step(self, step: str, text: str, source: str | None) -> Laid:
        laid = Laid()
        beside = _SOURCE_WIDTH + 8 if source else 0.0
        text_width = self.width - _TEXT_X - _INSET - beside
        laid.put(_STEP_X, 0, shortened(step, CELL_QUIET, _TEXT_X - _STEP_X - 3), CELL_QUIET)
        bottom = laid.put(_TEXT_X, 0, text, CELL, text_width)
        y = 1.0
        for line in wrap(source, SECOND, _SOURCE_WIDTH) if source else ():
            x = self.width - _INSET - width_of(line, SECOND.font, SECOND.size)
            y = laid.put(x, y, line, SECOND)
        laid.height = max(bottom, y) + _BETWEEN
        return laid

    def draw(self) -> None:
        self._draw_title()
        frame = self.height - _TITLE
        self.canv.setStrokeColor(LINE)
        self.canv.setLineWidth(0.75)
        self.canv.rect(0, 0, self.width, frame)
        top = frame - _INSET
        tops = []
        for step in self.steps:
            tops.append(top - 6)
            step.draw(self.canv, 0, top)
            top -= step.height
        self._draw_lead(tops, top)
        if self.last:
            self._draw_outcome(top)

    def _draw_title(self) -> None:
        goes_on = "" if self.first else " (continued)"
        if self.first:
            self.canv.bookmarkHorizontal(self.key, 0, self.height + 6)
            self.canv.addOutlineEntry(self.title, self.key, 1)
        self.canv.setFillColor(GROUP.colour)
        self.canv.setFont(GROUP.font, GROUP.size)
        self.canv.drawString(0, self.height - 11, shortened(self.title, GROUP, self.width - 60) + goes_on)

    def _draw_lead(self, tops: Sequence[float], end: float) -> None:
        self.canv.setStrokeColor(EDGE)
        self.canv.setFillColor(WHITE)
        self.canv.setLineWidth(1.4)
        self.canv.line(_LEAD_X, tops[0] if self.first else tops[0] + 9, _LEAD_X, end - 9 if self.last else 3)
        for top in tops:
            self.canv.rect(_LEAD_X - 4, top - 2, 8, 4, stroke=1, fill=1)
        if self.last:
            for below, half in ((9, 6.5), (11.6, 4), (14.2, 1.7)):
                self.canv.line(_LEAD_X - half, end - below, _LEAD_X + half, end - below)

    def _draw_outcome(self, top: float) -> None:
        colour = colour_of(self.outcome)
        self.canv.setFillColor(CELL_QUIET.colour)
        self.canv.setFont(CELL_QUIET.font, CELL_QUIET.size)
        self.canv.drawString(_STEP_X, top - 13, "outcome")
        draw_shape(self.canv, self.outcome, _TEXT_X, top - 15.5, 11, colour)
        self.canv.setFillColor(colour)
        self.canv.setFont(OUTCOME.font, OUTCOME.size)
        self.canv.drawString(_TEXT_X + 16, top - 14, sentence(self.outcome).rstrip("."))


def _lines_of(reading: Reading) -> list[tuple[str, str, str | None]]:
    lines = [
        (line.step, figures(line.text), figures(line.source) if line.source else None)
        for line in reading.working
    ]
    return lines or [("working", "No working was recorded.", None)]
