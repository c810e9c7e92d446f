"""The first page's head: the firm, the title, an amendment where it is one, and coverage before outcome."""

from collections import Counter
from collections.abc import Sequence

from reportlab.platypus.flowables import Flowable, Spacer

from reports.facts import NOT_SEEN, Amendment, Count, Coverage, PartLooked, ReportFacts
from reports.pdf.blocks import cell, facts_list, paragraphs, section, table
from reports.pdf.lines import wrap
from reports.pdf.rows import Cell, Column, Row
from reports.pdf.shapes import SIDE, colour_of, draw_shape, must_be_acted_on
from reports.pdf.style import CELL_QUIET, FIRM, HEADLINE, INK, SECOND, SEMIBOLD, STRONG, TEXT, TITLE
from reports.pdf.typeface import width_of
from reports.pdf.words import count, day, figures, listed, sentence

_WAS_THERE = {"before": "was not there", "after": "is no longer there"}


class FirmLine(Flowable):
    """The firm's name, with its address and what it says of accreditation; a rule below."""

    def __init__(self, name: str, beside: str, width: float) -> None:
        super().__init__()
        self.names = wrap(name, FIRM, width * 0.52)
        self.beside = wrap(beside, SECOND, width * 0.45)
        self.width = width
        self.height = max(len(self.names) * FIRM.leading, len(self.beside) * SECOND.leading) + 6

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return width, self.height

    def draw(self) -> None:
        self.canv.setFillColor(FIRM.colour)
        self.canv.setFont(FIRM.font, FIRM.size)
        for n, line in enumerate(reversed(self.names)):
            self.canv.drawString(0, 7 + n * FIRM.leading, line)
        self.canv.setFillColor(SECOND.colour)
        self.canv.setFont(SECOND.font, SECOND.size)
        for n, line in enumerate(reversed(self.beside)):
            self.canv.drawRightString(self.width, 7 + n * SECOND.leading, line)
        self.canv.setStrokeColor(INK)
        self.canv.setLineWidth(0.9)
        self.canv.line(0, 0, self.width, 0)


class Headline(Flowable):
    """How much was read, then what came of it, between two rules."""

    def __init__(self, facts: ReportFacts, width: float) -> None:
        super().__init__()
        coverage = facts.coverage
        self.lines = wrap(headline(facts), HEADLINE, width)
        self.tally = _tally_lines([(c.word, f"{c.count} {c.word}") for c in coverage.outcomes], width)
        self.width = width
        self.height = 18 + len(self.lines) * HEADLINE.leading + len(self.tally) * 15

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return width, self.height

    def draw(self) -> None:
        self.canv.setStrokeColor(INK)
        for y, thick in ((self.height, 1.5), (0, 0.9)):
            self.canv.setLineWidth(thick)
            self.canv.line(0, y, self.width, y)
        y = self.height - 20
        self.canv.setFillColor(HEADLINE.colour)
        self.canv.setFont(HEADLINE.font, HEADLINE.size)
        for line in self.lines:
            self.canv.drawString(0, y, line)
            y -= HEADLINE.leading
        for items in self.tally:
            for x, state, words in items:
                draw_shape(self.canv, state, x, y - 1, SIDE + 1, colour_of(state))
                self.canv.setFillColor(colour_of(state))
                self.canv.setFont(_tally_font(state), TEXT.size)
                self.canv.drawString(x + SIDE + 5, y, words)
            y -= 15


def opening(facts: ReportFacts, width: float) -> list[Flowable]:
    """Everything above the first section."""
    firm, issued = facts.firm, day(facts.issued_at[:10])
    address = firm.address or "No address recorded."
    amendment = facts.amendment
    amends = (
        f"Amendment to report {facts.number}: replaces issue {amendment.replaces_issue}" if amendment else ""
    )
    return [
        FirmLine(firm.name, f"{address}\n{firm.accreditation}", width),
        Spacer(0, 14),
        paragraphs([title(facts)], width * 0.8, TITLE),
        Spacer(0, 4),
        paragraphs([f"Report {facts.number}, issue {facts.issue}, {issued}"], width, STRONG),
        *([paragraphs([amends], width, STRONG)] if amends else []),
        Spacer(0, 8),
        Headline(facts, width),
        *(amendment_section(amendment, width) if amendment else []),
    ]


def title(facts: ReportFacts) -> str:
    kinds = list(dict.fromkeys(system.kind for system in facts.systems))
    return f"Inspection of {listed(kinds)}" if kinds else "Inspection"


def coverage_sentence(coverage: Coverage) -> str:
    if not coverage.asked:
        return "No point was to be read at this visit."
    first = f"{coverage.read} of {count(coverage.asked, 'point', 'points')} {_were(coverage.read)} read."
    rest = listed([_not_read(each) for each in coverage.not_read])
    return f"{first} {sentence(rest)}" if rest else first


def headline(facts: ReportFacts) -> str:
    """How much was read, and how much was seen."""
    return " ".join(filter(None, (coverage_sentence(facts.coverage), parts_sentence(facts.parts))))


def parts_sentence(parts: Sequence[PartLooked] | None) -> str:
    """How many parts were seen; empty where none was to be looked at."""
    if parts is None:
        return ""
    if not parts:
        return "Parts were not recorded one by one; the visit counts as having seen every part."
    seen = [each for each in parts if each.reason is None]
    defects = sum(1 for each in seen if each.outcome != "seen")
    with_defect = f", {defects} of them with a defect" if defects else ""
    first = f"{len(seen)} of {count(len(parts), 'part', 'parts')} {_were(len(seen))} seen{with_defect}."
    reasons = Counter(each.reason for each in parts if each.reason)
    rest = listed([_not_read(Count(word, reasons[word])) for word in NOT_SEEN if reasons[word]])
    return f"{first} {sentence(rest)}" if rest else first


def amendment_section(amendment: Amendment, width: float) -> list[Flowable]:
    intro = facts_list(
        [("Replaces", f"issue {amendment.replaces_issue} of this report"), ("Reason", amendment.reason)],
        width,
    )
    columns = (Column("What differs", 130), Column("Before", 150), Column("Now", 0))
    rows = [
        Row((cell(d.what), _told(d.before, "before"), _told(d.after, "after"))) for d in amendment.differences
    ]
    differences = table(columns, rows, width) if rows else paragraphs(["No differences were listed."], width)
    return section("What this amendment changes", "amendment", [intro, Spacer(0, 6), differences], width)


def _told(words: str | None, side: str) -> Cell:
    return cell(figures(words)) if words else cell(_WAS_THERE[side], CELL_QUIET)


def _not_read(points: Count) -> str:
    if points.word == "access refused":
        return f"access to {points.count} was refused"
    return f"{points.count} {_were(points.count)} {points.word}"


def _were(number_of: int) -> str:
    return "was" if number_of == 1 else "were"


def _tally_font(state: str) -> str:
    return SEMIBOLD if must_be_acted_on(state) else TEXT.font


def _tally_lines(items: list[tuple[str, str]], width: float) -> list[list[tuple[float, str, str]]]:
    lines: list[list[tuple[float, str, str]]] = []
    x = width
    for state, words in items:
        needed = SIDE + 5 + width_of(words, _tally_font(state), TEXT.size)
        if x + needed > width:
            lines.append([])
            x = 0.0
        lines[-1].append((x, state, words))
        x += needed + 16
    return lines
