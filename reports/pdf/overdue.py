"""The overdue register on paper: the firm's name, the day, by when it was known, and every row with its reason."""

import hashlib
from datetime import datetime
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus.doctemplate import BaseDocTemplate, PageTemplate
from reportlab.platypus.flowables import Flowable, Spacer
from reportlab.platypus.frames import Frame

from reports.overdue_register import OverdueRegister, OverdueRow
from reports.pdf import style
from reports.pdf.blocks import cell, facts_list, paragraphs, section, table
from reports.pdf.furniture import Furniture
from reports.pdf.rows import Column, Row
from reports.pdf.typeface import REGULAR, one_at_a_time, printable, ready
from reports.pdf.words import count, day, instant

TITLE = "Overdue inspections"
WHAT_IT_IS = (
    "An inspection is overdue from the day after its due day, or after its grace where the rule gives one, each counted"
    " in its site’s own time zone. A planned visit moves no due day. This register declares nothing safe or unsafe."
)


def render(register: OverdueRegister) -> bytes:
    """The register as PDF: the same facts give the same bytes."""
    ready()
    paper, output = style.PAGE_SIZES[register.paper], BytesIO()
    furniture = _Furniture(register)
    width = style.content_width(register.paper)
    height = paper[1] - style.TOP - style.BOTTOM - 2 * style.FURNITURE
    frame = Frame(style.LEFT, style.BOTTOM + style.FURNITURE, width, height, 0, 0, 0, 0)
    document = _Document(
        output,
        furniture,
        register,
        pagesize=paper,
        pageTemplates=[PageTemplate(frames=[frame], onPage=furniture.draw)],
        title=f"{TITLE}, {register.day}",
        author=register.firm,
        creator=register.firm,
        lang="en-GB",
        displayDocTitle=1,
        invariant=1,
        pageCompression=1,
        initialFontName=REGULAR,
    )
    with one_at_a_time:
        document.build(_story(register, width))
    return output.getvalue()


class _Furniture(Furniture):
    """Head and foot of a register."""

    def __init__(self, register: OverdueRegister) -> None:
        self.width, self.height = style.PAGE_SIZES[register.paper]
        self.report = TITLE
        self.about = day(register.day).replace("\ue000", " ")
        self.firm = printable(register.firm)
        sha256 = register.sha256
        self.fingerprint = f"facts {sha256[:4]} {sha256[4:8]} {sha256[8:12]}"
        self.pages = 0


class _Document(BaseDocTemplate):
    """Takes its identity and its day from the facts; writes the page counts once the last page is known."""

    def __init__(
        self, output: BytesIO, furniture: _Furniture, register: OverdueRegister, **settings: object
    ) -> None:
        super().__init__(output, **settings)
        self.furniture, self.register = furniture, register

    def _startBuild(self, filename: object = None, canvasmaker: type[Canvas] = Canvas) -> None:
        super()._startBuild(filename, canvasmaker)
        self.canv._doc.signature = hashlib.md5(self.register.sha256.encode(), usedforsecurity=False)
        at = datetime.fromisoformat(self.register.known_by)
        self.canv.setDateFormatter(lambda *_clock: at.strftime("D:%Y%m%d%H%M%S+00'00'"))

    def _endBuild(self) -> None:
        self.furniture.finish(self.canv)
        super()._endBuild()


def _story(register: OverdueRegister, width: float) -> list[Flowable]:
    number = len(register.rows) + register.left_out
    known = printable(register.rests_on) if register.rests_on else f"{instant(register.known_by)} UTC"
    told = [
        ("Day", day(register.day)),
        ("Known by", known),
        ("Shows", printable(register.narrowed)),
        ("Facts, SHA-256", register.sha256),
    ]
    if register.answer:
        told.append(("Answer, SHA-256", register.answer))
    parts: list[Flowable] = [
        paragraphs([printable(register.firm)], width, style.FIRM),
        paragraphs([TITLE], width, style.TITLE),
        Spacer(0, 6),
        paragraphs(
            [f"{count(number, 'inspection', 'inspections')} overdue" if number else "Nothing is overdue"],
            width,
            style.HEADLINE,
        ),
        Spacer(0, 8),
        facts_list(told, width),
        Spacer(0, 8),
        paragraphs([WHAT_IT_IS], width),
    ]
    if register.rows:
        parts += section("The longest overdue first", "overdue", [_table(register, width)], width)
    if register.left_out:
        parts.append(paragraphs([f"{register.left_out} more are not printed here; narrow the list."], width))
    return parts


def _table(register: OverdueRegister, width: float) -> Flowable:
    last = "Overdue since" if register.rests_on else "Planned"
    columns = (Column("Structure", 0), Column("Demand", 74), Column("Due", 62), Column("Overdue", 76),
               Column("Whose rule", 110), Column(last, 68))  # fmt: skip
    return table(columns, [_row(row) for row in register.rows], width)


def _row(row: OverdueRow) -> Row:
    """What was planned is not said of a past day: it moves nothing."""
    planned = day(row.planned) if row.planned else "not planned"
    cells = (
        cell(printable(row.structure), style.CELL_STRONG, second=printable(row.place)),
        cell(printable(row.demand)),
        cell(day(row.due)),
        cell(printable(row.words), style.CELL_STRONG._replace(colour=style.COPPER)),
        cell(printable(row.author), second=printable(row.source) or None),
        cell(day(row.since) if row.since else planned),
    )
    return Row(cells, [(printable(f"Why this day: {row.why}"), style.SECOND)])
