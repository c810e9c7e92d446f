"""Head and foot of each page.

How many pages there are is known last, so each page's count is a form that is filled in at the end.
"""

from reportlab.pdfgen.canvas import Canvas

from reports.facts import ReportFacts
from reports.pdf.lines import shortened
from reports.pdf.style import BOTTOM, INK, LEFT, PAGE_SIZES, RIGHT, RUNNING, SEMIBOLD, TOP
from reports.pdf.typeface import width_of


class Furniture:
    """Draws head and foot lines, and afterwards `page n of N` on every page."""

    def __init__(self, facts: ReportFacts, sha256: str) -> None:
        self.width, self.height = PAGE_SIZES[facts.paper]
        self.report = f"Report {facts.number}, issue {facts.issue}"
        self.about = f"{facts.structure.name}, {facts.site.name}"
        self.firm = facts.firm.name
        self.fingerprint = f"facts {sha256[:4]} {sha256[4:8]} {sha256[8:12]}"
        self.pages = 0

    def draw(self, canvas: Canvas, document: object) -> None:
        canvas.saveState()
        self.pages = canvas.getPageNumber()
        canvas.setStrokeColor(INK)
        canvas.setFillColor(RUNNING.colour)
        canvas.setLineWidth(0.75)
        if self.pages > 1:
            self._head(canvas)
        self._foot(canvas)
        canvas.restoreState()

    def finish(self, canvas: Canvas) -> None:
        """Fills in `page n of N`, now that N is known."""
        for page in range(1, self.pages + 1):
            words = f"page {page} of {self.pages}"
            canvas.beginForm(_form(page), 0, 0, self.width, self.height)
            canvas.setFillColor(RUNNING.colour)
            canvas.setFont(RUNNING.font, RUNNING.size)
            right = self.width - RIGHT
            canvas.drawString(right - width_of(words, RUNNING.font, RUNNING.size), BOTTOM + 4, words)
            canvas.endForm()

    def _head(self, canvas: Canvas) -> None:
        y, right = self.height - TOP - 4, self.width - RIGHT
        canvas.setFont(SEMIBOLD, RUNNING.size)
        canvas.drawString(LEFT, y, shortened(self.report, RUNNING._replace(font=SEMIBOLD), 160))
        canvas.setFont(RUNNING.font, RUNNING.size)
        canvas.drawRightString(right, y, shortened(self.about, RUNNING, right - LEFT - 180))
        canvas.line(LEFT, y - 5, right, y - 5)

    def _foot(self, canvas: Canvas) -> None:
        right = self.width - RIGHT
        canvas.line(LEFT, BOTTOM + 14, right, BOTTOM + 14)
        canvas.setFont(RUNNING.font, RUNNING.size)
        canvas.drawString(LEFT, BOTTOM + 4, shortened(self.firm, RUNNING, 190))
        canvas.drawCentredString((LEFT + right) / 2, BOTTOM + 4, self.fingerprint)
        canvas.doForm(_form(self.pages))


def _form(page: int) -> str:
    return f"count-{page}"
