"""The pages as another program reads them: sizes, counts, fonts, outline, and nothing outside its place."""

import re
from dataclasses import replace
from datetime import datetime
from io import BytesIO
from itertools import pairwise

import pdfplumber
import pypdf
import pytest

from reports.facts import to_json
from reports.pdf import render
from reports.pdf.style import BOTTOM, LEFT, RIGHT, TOP
from reports.pdf.typeface import ready
from tests.reports.sample_facts import amended_facts, bare_facts, sample_facts

# One place is made for all of them, so one process runs them.
pytestmark = pytest.mark.xdist_group("paper")

# ISO 216: A4 is 210 mm x 297 mm; ANSI/ASME Y14.1: letter is 8.5 in x 11 in. One inch is 72 points.
SIZES = {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (612.0, 792.0)}
LONG_WORD = "Überspannungsschutzgeräteanschlussklemmenkasten" * 7  # 329 letters, no space
LONG_WORDS = "the grey door beside the second stair, left of the old lift " * 6


def stuffed(paper):
    """Facts in which every free text is long, some of it without a space to break at."""
    facts = sample_facts(24, paper)
    first, *rest = facts.readings
    long = replace(
        first,
        place=LONG_WORD,
        display="-123456789.123456789",
        further_displays=("1.234567",) * 60,
        reason=LONG_WORDS,
        questions=(LONG_WORDS, LONG_WORD),
        read_by=LONG_WORDS,
        working=tuple(replace(line, text=LONG_WORDS * 2, source=LONG_WORD) for line in first.working * 2),
    )
    return replace(
        facts,
        firm=replace(facts.firm, name=LONG_WORDS, address=LONG_WORDS),
        client=replace(facts.client, name=LONG_WORD),
        site=replace(facts.site, name=LONG_WORDS),
        structure=replace(facts.structure, name=LONG_WORD, use=LONG_WORDS),
        scope=LONG_WORDS * 20,
        limitations=tuple(replace(each, words=LONG_WORD * 12) for each in facts.limitations),
        defects=tuple(
            replace(d, words=LONG_WORDS, place=LONG_WORD, number="1234567890123") for d in facts.defects
        ),
        findings=tuple(replace(each, place=LONG_WORD, words=LONG_WORDS * 8) for each in facts.findings),
        not_read=tuple(replace(each, place=LONG_WORDS, words=LONG_WORD) for each in facts.not_read),
        due=tuple(replace(each, why=LONG_WORDS, author=LONG_WORD) for each in facts.due),
        readings=(long, *rest),
    )


CASES = {
    "A4": sample_facts(),
    "Letter": sample_facts(paper="Letter"),
    "amended": amended_facts(),
    "bare": bare_facts(),
    "stuffed A4": stuffed("A4"),
    "stuffed Letter": stuffed("Letter"),
}


@pytest.fixture(scope="module", params=CASES, ids=str)
def built(request):
    facts = CASES[request.param]
    return facts, render(to_json(facts))


@pytest.fixture(scope="module")
def sheets(built):
    """Width, height and letters of each page, as pdfplumber reads them."""
    with pdfplumber.open(BytesIO(built[1])) as document:
        return [(page.width, page.height, page.chars) for page in document.pages]


def test_it_has_the_size_of_its_paper(built):
    facts, data = built
    for page in pypdf.PdfReader(BytesIO(data)).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            SIZES[facts.paper], abs=0.01
        )


def test_it_counts_its_pages_on_every_page(built):
    _, data = built
    pages = pypdf.PdfReader(BytesIO(data)).pages
    for number, page in enumerate(pages, start=1):
        assert re.findall(r"page \d+ of \d+", page.extract_text()) == [f"page {number} of {len(pages)}"]


def test_it_says_whose_report_and_which_facts_on_every_page(built):
    facts, data = built
    fingerprint = re.compile("facts [0-9a-f]{4} [0-9a-f]{4} [0-9a-f]{4}")
    texts = [page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages]
    assert len({fingerprint.search(text)[0] for text in texts}) == 1
    assert all(f"Report {facts.number}, issue {facts.issue}" in text for text in texts)


def test_it_keeps_everything_inside_the_margins_and_nothing_on_top_of_another(sheets):
    for width, height, chars in sheets:
        for char in chars:
            assert char["x0"] >= LEFT - 0.5 and char["x1"] <= width - RIGHT + 0.5, char
            assert char["top"] >= TOP - 6 and char["bottom"] <= height - BOTTOM + 2, char
        assert not overlapping(chars)


def overlapping(chars):
    """Pairs of letters of one line that lie on each other by more than a point."""
    lines = {}
    for char in chars:
        lines.setdefault(round(char["bottom"] - 0.2 * char["size"]), []).append(char)
    pairs = []
    for line in lines.values():
        line.sort(key=lambda char: char["x0"])
        pairs += [(a["text"], b["text"]) for a, b in pairwise(line) if b["x0"] < a["x1"] - 1]
    return pairs


def test_it_draws_no_character_that_its_typeface_lacks(sheets):
    drawn = {char["text"] for _, _, chars in sheets for char in chars}
    assert {text for text in drawn if not set(map(ord, text)) <= ready()} == set()


def test_it_embeds_its_two_fonts_and_uses_no_other(built):
    _, data = built
    names = set()
    for page in pypdf.PdfReader(BytesIO(data)).pages:
        for font in page["/Resources"]["/Font"].values():
            names.add(str(font["/BaseFont"]).split("+")[-1])
            assert font["/FontDescriptor"]["/FontFile2"].get_data()
    assert names == {"SourceSansPro-Regular", "SourceSansPro-Semibold"}


def test_it_names_itself_for_readers_and_their_programs(built):
    facts, data = built
    reader = pypdf.PdfReader(BytesIO(data))
    assert f"report {facts.number}, issue {facts.issue}" in reader.metadata.title
    assert reader.metadata.author == facts.firm.name
    assert facts.structure.name in reader.metadata.subject
    assert reader.metadata.creation_date == datetime.fromisoformat(facts.issued_at)
    assert reader.trailer["/Root"]["/Lang"] == "en-GB"
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/DisplayDocTitle"] is not None


def test_it_has_an_outline_that_leads_to_the_sections(built):
    _, data = built
    reader = pypdf.PdfReader(BytesIO(data))
    sections = [entry for entry in reader.outline if not isinstance(entry, list)]
    assert [re.sub(r"^\d+\s+", "", entry.title) for entry in sections if "amendment" not in entry.title] == [
        "What was inspected",
        "By whose rule",
        "What must be done",
        "What was not inspected",
        "People and signatures",
        "Scope and limitations",
        "Conditions",
        "Instruments",
        "What was seen",
        "Readings",
        "Comparison with the last visit",
        "What is due next",
        "What this report is not",
        "Fingerprint of the facts",
        "Appendix: the working of each reading",
    ]
    for entry in sections:
        page = reader.pages[reader.get_destination_page_number(entry)]
        assert " ".join(entry.title.split()) in " ".join(page.extract_text().split())


def test_it_repeats_the_heads_of_tables_that_go_on_and_leaves_no_row_out():
    facts = sample_facts(400)
    texts = [page.extract_text() for page in pypdf.PdfReader(BytesIO(render(to_json(facts)))).pages]
    lines = [text.split("\n") for text in texts]
    heads = {"Displayed": 0, "Last like reading": 0, "Last read": 0}
    for page in lines:
        for head in heads:
            heads[head] += page.count(head)
    assert heads["Displayed"] > 10 and heads["Last like reading"] > 5 and heads["Last read"] > 2
    first = next(n for n, page in enumerate(lines) if "Displayed" in page)
    appendix = next(n for n, page in enumerate(lines) if "Appendix: the working of each reading" in page)
    for page in lines[first:appendix]:
        if any(line.endswith("within limit") or line == "not tested" for line in page):
            assert set(heads) & set(page)
    points = {r.point_number for r in facts.readings} | {p.point_number for p in facts.not_read}
    assert points <= {line for page in lines[first:appendix] for line in page}


def test_it_leads_from_a_reading_to_its_working():
    reader = pypdf.PdfReader(BytesIO(render(to_json(sample_facts()))))
    links = [a.get_object() for page in reader.pages for a in page.get("/Annots", [])]
    assert len(links) == 2 * 40  # from the readings and from the comparison
    workings = [page.indirect_reference for page in reader.pages if "outcome" in page.extract_text()]
    for link in links:
        assert link["/Dest"][0] in workings
