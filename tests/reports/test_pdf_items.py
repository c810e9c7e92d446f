"""Everything the facts hold stands on paper, in the words of the trade, read back by another program."""

import functools
import re
from dataclasses import replace
from datetime import date, datetime
from io import BytesIO

import pdfplumber
import pypdf
import pytest

from reports import frozen
from reports.facts import coverage_of, to_json
from reports.pdf import render
from sites.canonical import sha256_of
from tests.reports.sample_facts import LONG_PLACE, amended_facts, bare_facts, sample_facts

NOT_PRINTED = {"paper", "format_version"}


@functools.cache
def pages_of(facts_json):
    """Text and words of all pages, as pdfplumber reads them."""
    with pdfplumber.open(BytesIO(render(facts_json))) as document:
        texts = [page.extract_text(x_tolerance=1.5) for page in document.pages]
        words = {word["text"] for page in document.pages for word in page.extract_words(x_tolerance=1.5)}
    return texts, words


def text_of(facts):
    """All pages as one line, with single spaces."""
    return " ".join(" ".join(pages_of(to_json(facts))[0]).split())


@pytest.fixture(scope="module")
def sample():
    return text_of(sample_facts())


@pytest.fixture(scope="module")
def other():
    """The same pages as pypdf reads them."""
    data = render(to_json(sample_facts()))
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages).split())


@pytest.fixture(scope="module")
def bare():
    return text_of(bare_facts())


def leaves(value, path=""):
    if isinstance(value, dict):
        for key, item in value.items():
            if key not in NOT_PRINTED:
                yield from leaves(item, f"{path}.{key}")
    elif isinstance(value, list):
        for item in value:
            yield from leaves(item, path)
    elif value not in (None, 0) and not isinstance(value, bool):
        yield path, str(value)


def as_printed(text):
    """The words of a fact as they should stand on paper: days written out, true minus."""
    if re.fullmatch(r"\d{4}-\d\d-\d\dT.*", text):
        at = datetime.fromisoformat(text)
        return f"{at.hour:02d}:{at.minute:02d}"
    text = re.sub(
        r"\b\d{4}-\d\d-\d\d\b",
        lambda day: date.fromisoformat(day[0]).strftime("%d %b %Y").removeprefix("0"),
        text,
    )
    return re.sub(r"(?<![\w-])-(?=\d)", "−", text).replace(" - ", " − ")


@pytest.mark.parametrize(
    "facts", [sample_facts(), amended_facts(), bare_facts()], ids=["full", "amended", "bare"]
)
def test_it_prints_every_fact(facts):
    _, words = pages_of(to_json(facts))
    bare_words = {word.strip(",;:.()+%−").casefold() for word in words}
    missing = {
        (path, word)
        for path, text in leaves(frozen.to_plain(facts))
        for word in as_printed(text).split()
        if word.strip(",;:.()+%−").casefold() not in bare_words
    }
    assert missing == set()


@pytest.mark.parametrize(
    "words",
    [
        # the twenty-seven things a complete report holds, where this one has them
        "Report 198, issue 1, 29 Jan 2027",
        "Gorsewick Lightning & Earthing",
        "4 Tollhouse Yard, Nether Beck",
        "No accreditation is claimed for this report.",
        "Client Larkmoor Hospitals",
        "Energy Centre: generators and switchgear; lightning protection class II; critical",
        "complete; periodic, as the insurer asks; planned for 20 Jan 2027",
        "20 Jan 2027, 08:10 to 16:25",
        "all times are Europe/London",
        "T. Quillfeather; visual inspection and all readings",
        "Plan of the test points; revision D; dated: 14 Sep 2025; matches except the new flue",
        "Condition 9 and 11, edition 2025",
        "from memory; adopted from 1 Jun 2019 until",
        "All rules: check against your adopted edition.",
        "flue platform not entered; no scaffold; agreed with M. Hobbinfield, 20 Jan 2027",
        "switch room 2 not entered; isolation not given on the day",
        "Rain, last 7 days 22 mm",
        "Air temperature not taken",
        "11 Earth tester, three-pole none recorded not recorded no range recorded",
        "check resistor 2.50 mΩ",
        "new flue stands above the air terminations",
        "A steel flue was added on the north side; it is on no plan.",
        "Down-conductor 5 runs 0.4 m from the gas vent; agreed with the owner on 1 Jun 2019.",
        "The last visit was on 19 Jan 2026, report 131.",
        "8 not accessible 41, 43, 47, 49, 51, 53, 57 and 59 no scaffold; agreed on 20 Jan 2027 18 Feb 2027",
        "40 of 60 points were read.",
        "35 within limit 1 above limit 3 cannot be judged 1 for information",
        "87 Fuel tank, east: bond loose, 14.2 mΩ",
        "12 months from the visit that",
        "Inspected T. Quillfeather, 21 Jan 2027, 15:40",
        "Reviewed B. Oakenshale, 26 Jan 2027, 10:05",
        "Authorised I. Fernlow, authorised signatory, 29 Jan 2027, 11:20",
        "Łucja Brzęczyk, of Łódź Make-believe Climbers",
        "It is not a permit to work or enter.",
        "It may be copied only whole.",
        "Log before this entry 48213, 7b0d2f6a91c4e853",
    ],
)
def test_it_prints_each_item_of_a_complete_report(sample, words):
    assert words in sample


def test_it_states_coverage_before_outcome_and_sections_in_their_order(sample):
    places = [
        sample.index(words)
        for words in (
            "Gorsewick Lightning & Earthing",
            "Inspection of lightning protection",
            "Report 198, issue 1",
            "40 of 60 points were read",
            "35 within limit",
            "1 What was inspected",
            "2 By whose rule",
            "3 What must be done",
            "4 What was not inspected",
            "5 People and signatures",
            "10 Readings",
            "11 Comparison with the last visit",
            "12 What is due next",
            "14 Fingerprint of the facts",
            "Appendix: the working of each reading",
        )
    ]
    assert places == sorted(places)


def test_it_prints_the_fingerprint_of_exactly_these_facts(sample):
    sha256 = sha256_of(to_json(sample_facts()))
    assert sample.count(sha256) == 1
    assert f"facts {sha256[:4]} {sha256[4:8]} {sha256[8:12]}" in sample


def test_it_prints_a_reading_with_unit_corrected_limit_change_and_outcome(sample):
    assert "2 Chiller pipe 2.88 mΩ 24 °C 2.835 mΩ 10 mΩ risen 8.9 % within limit" in sample
    assert "4 Main bar to ring 14.2 mΩ 24 °C 13.98 mΩ 10 mΩ risen 61 % above limit" in sample
    assert "0.00 Ω not taken as found 10 mΩ not comparable cannot be judged" in sample
    assert "OL mΩ" in sample
    assert "−0.02 mΩ" in sample
    assert "13A Cable tray, bay 13" in sample and "was point 13" in sample
    assert "Question: Was a parallel path opened?" in sample
    assert "Corrects an earlier entry: 5.1, entered without its last digit" in sample


def test_it_prints_the_working_with_its_sources(sample):
    assert "5.11 mΩ / (1 + 0.00393 × (24 − 20)) = 5.11 / 1.01572 = 5.031 mΩ at 20 °C" in sample
    assert "guarded, w = U: 5.031 mΩ ≤ 10 mΩ − 0.057 mΩ = 9.943 mΩ ILAC-G8:09/2019, 4.2.2" in sample
    assert "in calibration from 1 Jul 2026 to 30 Jun 2027" in sample


@pytest.mark.parametrize(
    "letters", ["mΩ", "mm²", "°C", "√12", "≤", "−0.02", "Łódź", "Łucja Brzęczyk", "ρ L / A"]
)
def test_it_keeps_every_letter_for_every_reader(sample, other, letters):
    assert letters in sample
    assert letters in other


def test_it_keeps_a_place_of_three_hundred_letters_whole(sample):
    assert len(LONG_PLACE) >= 290
    assert sample.count(LONG_PLACE) == 2  # readings and comparison


def test_it_prints_mark_up_in_a_name_as_it_stands():
    name = '<b>Moor</b> & <font color="red">Sons</font> &amp; <br/> </para>'
    facts = sample_facts(20)
    printed = text_of(replace(facts, firm=replace(facts.firm, name=name), scope=f"scope {name}"))
    assert f"scope {name}" in printed
    assert printed.count("</para>") >= 2


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("Δημήτρης Παπαδόπουλος", "Δημήτρης Παπαδόπουλος"),
        ("Ольга Щербакова", "Ольга Щербакова"),
        ("Şerban Ştefănescu", "Şerban Ştefănescu"),
        ("山田", "[U+5C71][U+7530]"),
        ("שרה", "[U+05E9][U+05E8][U+05D4]"),
        ("A\u202eB", "A[U+202E]B"),  # an invisible turn of direction is made visible
        ("A\x07B", "A[U+0007]B"),
        ("two\u2011part", "two-part"),
    ],
)
def test_it_never_prints_an_empty_box(name, printed):
    facts = sample_facts(20)
    text = text_of(replace(facts, people=(replace(facts.people[0], name=name),)))
    assert f"Inspector {printed}; visual inspection" in text
    assert ("is printed as its number in Unicode" in text) == ("[U+" in printed or "two" in name)


def test_it_names_what_is_absent(bare):
    for words in (
        "No address recorded.",
        "No point was to be read at this visit.",
        "Site Larkmoor General; address not recorded",
        "Position not recorded",
        "Gatehouse: use not recorded; no class recorded; not recorded as critical",
        "Systems none recorded",
        "no planned day recorded",
        "Other dates none recorded",
        "No limit was applied.",
        "No interval was applied.",
        "No defect stands open.",
        "No point that was asked for was left out.",
        "People None recorded.",
        "Reviewed not reviewed by a second person",
        "Limitations none recorded",
        "Departures none recorded",
        "What has changed none recorded",
        "Documents none recorded",
        "Subcontracted none recorded",
        "Weather not taken",
        "Rain, last 7 days not taken",
        "Soil not taken",
        "Air temperature not taken",
        "Instruments None recorded.",
        "What was seen None recorded.",
        "No reading was taken.",
        "No earlier visit is recorded.",
        "No due date follows from the rules.",
        "No reading was taken, so there is no working.",
    ):
        assert words in bare


@pytest.mark.parametrize("facts", [sample_facts(), bare_facts()], ids=["full", "bare"])
def test_it_uses_no_word_that_says_more_than_was_measured(facts):
    text = text_of(facts).casefold()
    for word in (
        r"\bn/a\b",
        r"\bsafe\b",
        r"\bcertified\b",
        r"\bpass(ed)?\b",
        r"\bfail(ed)?\b",
        "downlead",
        r"\bnone\b ",
    ):
        found = re.search(word, text)
        allowed = {"safe": "made safe", "none ": "none recorded"}
        if found and found[0] in allowed:
            assert text.count(found[0]) >= text.count(allowed[found[0]])
        else:
            assert not found, word


def test_it_says_what_an_amendment_replaces_and_why():
    text = text_of(amended_facts())
    assert "Amendment to report 198: replaces issue 1" in text
    assert "Reason The certificate number of instrument 4 was copied wrongly." in text
    assert "Instrument 4, certificate 3381 3318" in text
    assert "Note on point 12A was not there has been renumbered" in text


def test_it_says_when_everything_was_read():
    facts = sample_facts()
    whole = replace(
        facts, not_read=(), parts=None, coverage=coverage_of(facts.readings, ()), due=facts.due[1:]
    )
    text = text_of(whole)
    assert "40 of 40 points were read. 35 within limit" in text
    assert "No point that was asked for was left out." in text


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ("3 points, 1 part", "complete; 3 points, 1 part"),
        ("1 part", "complete; 1 part"),
        ("4, 6", "complete; points 4, 6"),
        (None, "complete; all points"),
    ],
)
def test_it_says_once_of_which_points_a_day_is_told(points, said):
    facts = sample_facts()
    text = text_of(replace(facts, due=(replace(facts.due[0], points=points),)))
    assert said in text and "points 3 points" not in text and "points 1 part" not in text


def test_no_full_stop_stands_before_what_goes_on():
    facts = sample_facts()
    parts = tuple(replace(part, words=part.words and f"{part.words}.") for part in facts.parts)
    text = text_of(replace(facts, parts=parts))
    assert "north;" in text and ".;" not in text
