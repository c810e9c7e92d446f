"""The validation report: what computed, each expected value beside what came out, and room for a signature."""

import hashlib
from collections.abc import Iterable
from datetime import datetime
from io import BytesIO
from itertools import groupby

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus.doctemplate import BaseDocTemplate, CondPageBreak, PageTemplate
from reportlab.platypus.flowables import Flowable, Spacer
from reportlab.platypus.frames import Frame

from inspections.cases.validation import Check
from inspections.cases.validation_run import AGREES, DIFFERS, ValidationRun
from reports.pdf import style
from reports.pdf.blocks import cell, facts_list, paragraphs, section, table
from reports.pdf.furniture import Furniture
from reports.pdf.rows import Column, Row
from reports.pdf.typeface import REGULAR, printable, ready
from reports.pdf.words import count, instant

PAPER = "A4"
TITLE = "Validation of the calculation"
HEADINGS = {
    "working": "Readings that become verdicts",
    "dates": "Rules and visits that become due days",
    "calculate": "Formulas",
}
WHAT_IT_SAYS = (
    "Each case was run through the functions that judge readings, reckon due days and answer formulas. Where a"
    " published value does not match its own formula, the case says which of the two is checked."
)
WHAT_IT_IS_NOT = (
    "This report says that the program computed what these cases expect, with the code named above. It declares no"
    " installation safe, and it does not show that the limits in use are those of your adopted edition: check them"
    " against it. Values marked “from memory” were not seen in their source."
)
DIFFERING = style.CELL_STRONG._replace(colour=style.COPPER)


def render(done: ValidationRun) -> bytes:
    """The report as PDF: the same run gives the same bytes."""
    ready()
    paper, output = style.PAGE_SIZES[PAPER], BytesIO()
    furniture = _Furniture(done)
    width = style.content_width(PAPER)
    height = paper[1] - style.TOP - style.BOTTOM - 2 * style.FURNITURE
    frame = Frame(style.LEFT, style.BOTTOM + style.FURNITURE, width, height, 0, 0, 0, 0)
    document = _Document(
        output,
        furniture,
        done.at,
        pagesize=paper,
        pageTemplates=[PageTemplate(frames=[frame], onPage=furniture.draw)],
        title=TITLE,
        subject=done.cases,
        creator=f"Downlead {done.product_version}",
        lang="en-GB",
        displayDocTitle=1,
        invariant=1,
        pageCompression=1,
        initialFontName=REGULAR,
    )
    document.build(_story(done, width))
    return output.getvalue()


class _Furniture(Furniture):
    """Head and foot of a report that belongs to no structure."""

    def __init__(self, done: ValidationRun) -> None:
        self.width, self.height = style.PAGE_SIZES[PAPER]
        self.report = TITLE
        self.about = instant(done.at.isoformat())
        self.firm = f"Downlead {done.product_version}"
        sha256 = done.code_sha256
        self.fingerprint = f"code {sha256[:4]} {sha256[4:8]} {sha256[8:12]}"
        self.pages = 0


class _Document(BaseDocTemplate):
    """Takes its identity and its day from the run; writes the page counts once the last page is known."""

    def __init__(self, output: BytesIO, furniture: _Furniture, at: datetime, **settings: object) -> None:
        super().__init__(output, **settings)
        self.furniture, self.at = furniture, at

    def _startBuild(self, filename: object = None, canvasmaker: type[Canvas] = Canvas) -> None:
        super()._startBuild(filename, canvasmaker)
        identity = f"{self.furniture.fingerprint} {self.at.isoformat()}"
        self.canv._doc.signature = hashlib.md5(identity.encode(), usedforsecurity=False)
        self.canv.setDateFormatter(lambda *_clock: self.at.strftime("D:%Y%m%d%H%M%S+00'00'"))

    def _endBuild(self) -> None:
        self.furniture.finish(self.canv)
        super()._endBuild()


class SignatureLines(Flowable):
    """Labels over lines to write on by hand; they stay together on one page."""

    def __init__(self, labels: Iterable[str], width: float) -> None:
        super().__init__()
        self.labels, self.width = list(labels), width
        self.height = 34.0 * len(self.labels)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setStrokeColor(style.EDGE)
        self.canv.setLineWidth(0.75)
        for n, label in enumerate(self.labels):
            y = self.height - 34.0 * (n + 1) + 6
            self.canv.setFillColor(style.LABEL.colour)
            self.canv.setFont(style.LABEL.font, style.LABEL.size)
            self.canv.drawString(0, y + 2, label)
            self.canv.line(110, y, self.width, y)


def _story(done: ValidationRun, width: float) -> list[Flowable]:
    return [
        paragraphs([TITLE], width, style.TITLE),
        Spacer(0, 6),
        paragraphs([_outcome(done)], width, style.HEADLINE),
        Spacer(0, 8),
        facts_list(_computed_by(done), width),
        Spacer(0, 8),
        paragraphs([WHAT_IT_SAYS], width),
        *_differing(done, width),
        *_cases(done, width),
        *_signature(width),
    ]


def _outcome(done: ValidationRun) -> str:
    differ = len(done.differing)
    state = "all as expected" if not differ else f"{count(differ, 'value', 'values')} not as expected"
    return f"{count(done.case_count, 'case', 'cases')}, {count(len(done.checks), 'value', 'values')}: {state}"


def _computed_by(done: ValidationRun) -> list[tuple[str, str]]:
    return [
        ("Run at", f"{instant(done.at.isoformat())} ({done.at.tzname()})"),
        ("Program", f"Downlead {done.product_version}, calculation version {done.calculation_version}"),
        ("Code, SHA-256", done.code_sha256),
        ("Python", done.python_version),
        ("Cases", printable(done.cases)),
        ("Cases, SHA-256", done.cases_sha256),
    ]


def _differing(done: ValidationRun, width: float) -> list[Flowable]:
    if not done.differing:
        return []
    return section("What is not as expected", "differing", [_table(done.differing, width)], width)


def _cases(done: ValidationRun, width: float) -> list[Flowable]:
    parts: list[Flowable] = []
    for command, checks in groupby(done.checks, key=lambda check: check.case.command):
        parts += section(HEADINGS[command], f"{command}-{len(parts)}", [_table(checks, width)], width)
    return parts


def _table(checks: Iterable[Check], width: float) -> Flowable:
    columns = (
        Column("What is checked", 0),
        Column("Place", 74),
        Column("Expected", 82),
        Column("Got", 82),
        Column("Tolerance", 56),
        Column("Result", 40),
    )
    rows, before = [], ""
    for check in checks:
        rows.append(_row(check, first=check.case.id != before))
        before = check.case.id
    return table(columns, rows, width)


def _row(check: Check, *, first: bool) -> Row:
    case = check.case
    told = f"{case.id}. {case.source} ({case.status})" + (f"; {case.why}" if case.why else "")
    words = cell(printable(case.checks), second=printable(told)) if first else cell("")
    result = cell(AGREES) if check.agrees else cell(DIFFERS, DIFFERING)
    texts = (check.place, check.expected, check.got, check.tolerance)
    notes = [(printable(f"Input: {case.given}"), style.SECOND)] if first else []
    return Row((words, *(cell(printable(text)) for text in texts), result), notes)


def _signature(width: float) -> list[Flowable]:
    lines = SignatureLines(("Inspection body", "Name", "Position", "Day", "Signature"), width)
    parts: list[Flowable] = [paragraphs([WHAT_IT_IS_NOT], width), Spacer(0, 10), lines]
    return [CondPageBreak(lines.height + 90), *section("Reviewed and signed", "signed", parts, width)]
