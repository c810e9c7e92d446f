"""Frozen facts to the bytes of a PDF: the same text gives the same bytes, anywhere and at any time."""

import hashlib
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus.doctemplate import BaseDocTemplate, PageTemplate
from reportlab.platypus.flowables import Flowable, PageBreak
from reportlab.platypus.frames import Frame

from reports import frozen
from reports.facts import ReportFacts, from_json
from reports.pdf import background, closing, front, inspected, style
from reports.pdf.blocks import Heading, paragraphs
from reports.pdf.furniture import Furniture
from reports.pdf.readings import readings, working_key
from reports.pdf.typeface import REGULAR, one_at_a_time, printable
from reports.pdf.working import Working
from sites.canonical import sha256_of

LANGUAGE = "en-GB"


def render(facts_json: str) -> bytes:
    """The report as PDF, from the text that `reports.facts.to_json` wrote.

    Raises: ValueError (NotCanonical, NotFacts) where the text is not such facts.
    """
    facts = from_json(facts_json)
    plain = frozen.to_plain(facts)
    printed = _printable(plain)
    drawn = facts if printed == plain else frozen.from_plain(ReportFacts, printed)
    with one_at_a_time:
        return _build(facts, drawn, sha256_of(facts_json))


def _build(facts: ReportFacts, drawn: ReportFacts, sha256: str) -> bytes:
    paper = style.PAGE_SIZES[facts.paper]
    output, furniture = BytesIO(), Furniture(drawn, sha256)
    frame = Frame(
        style.LEFT,
        style.BOTTOM + style.FURNITURE,
        style.content_width(facts.paper),
        paper[1] - style.TOP - style.BOTTOM - 2 * style.FURNITURE,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    document = _Document(
        output,
        furniture,
        sha256,
        facts.issued_at,
        pagesize=paper,
        pageTemplates=[PageTemplate(frames=[frame], onPage=furniture.draw)],
        title=f"{front.title(facts)}, report {facts.number}, issue {facts.issue}",
        author=facts.firm.name,
        subject=f"{facts.structure.name}, {facts.site.name}, {facts.client.name}",
        creator=facts.firm.name,
        lang=LANGUAGE,
        displayDocTitle=1,
        invariant=1,
        pageCompression=1,
        initialFontName=REGULAR,
    )
    document.build(_story(drawn, sha256, facts != drawn, frame._height))
    return output.getvalue()


class _Document(BaseDocTemplate):
    """Takes its identity and its day from the facts; writes the page counts once the last page is known."""

    def __init__(
        self, output: BytesIO, furniture: Furniture, sha256: str, issued_at: str, **settings: object
    ) -> None:
        super().__init__(output, **settings)
        self.furniture, self.sha256, self.issued_at = furniture, sha256, issued_at

    def _startBuild(self, filename: object = None, canvasmaker: type[Canvas] = Canvas) -> None:
        super()._startBuild(filename, canvasmaker)
        # Even an invariant document reads SOURCE_DATE_EPOCH for its identity and its date.
        self.canv._doc.signature = hashlib.md5(self.sha256.encode(), usedforsecurity=False)
        self.canv.setDateFormatter(lambda *_clock: _pdf_date(self.issued_at))

    def _endBuild(self) -> None:
        self.furniture.finish(self.canv)
        super()._endBuild()


def _story(facts: ReportFacts, sha256: str, named_characters: bool, height: float) -> list[Flowable]:
    width = style.content_width(facts.paper)
    sections = [
        *front.opening(facts, width),
        *inspected.inspected(facts, width),
        *inspected.rules(facts, width),
        *inspected.defects(facts, width),
        *inspected.not_inspected(facts, width),
        *inspected.people(facts, width),
        *background.scope(facts, width),
        *background.conditions(facts, width),
        *background.instruments(facts, width),
        *background.findings(facts, width),
        *readings(facts, width),
        *closing.comparison(facts, width),
        *closing.due(facts, width),
        *closing.what_it_is_not(facts, width),
        *closing.fingerprint(facts, sha256, named_characters, width),
    ]
    headings = [each for each in sections if isinstance(each, Heading) and each.level == 0]
    for number, heading in enumerate(headings, start=1):
        heading.numbered(number)
    return [*sections, *_appendix(facts, width, height)]


def _appendix(facts: ReportFacts, width: float, height: float) -> list[Flowable]:
    heading = Heading("Appendix: the working of each reading", "appendix", style.SECTION, width, 0)
    if not facts.readings:
        return [heading, paragraphs(["No reading was taken, so there is no working."], width)]
    workings = [Working(r, working_key(place), width, height) for place, r in enumerate(facts.readings)]
    return [PageBreak(), heading, *workings]


def _pdf_date(instant: str) -> str:
    """ISO 32000-1, 7.9.4: `D:20270129112000+00'00'`."""
    digits = "".join(c for c in instant[:19] if c.isdigit())
    return f"D:{digits}{instant[-6:-3]}'{instant[-2:]}'"


def _printable(plain: object) -> object:
    if isinstance(plain, str):
        return printable(plain)
    if isinstance(plain, list):
        return [_printable(item) for item in plain]
    if isinstance(plain, dict):
        return {key: _printable(item) for key, item in plain.items()}
    return plain
