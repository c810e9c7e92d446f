"""How days, numbers and lists are written on paper, and how lines are broken."""

import pytest

from reports.facts import Amount
from reports.pdf.lines import shortened, wrap
from reports.pdf.shapes import SHAPES, colour_of
from reports.pdf.style import CELL, COPPER, INK, VERDIGRIS
from reports.pdf.typeface import printable, ready, width_of
from reports.pdf.words import GLUE, amount, day, figures, instant, listed, number, sentence, signed_percent

NO_BREAK = "\u00a0"


@pytest.fixture(autouse=True)
def typeface():
    ready()


def test_it_writes_days_and_times_without_doubt():
    assert day("2027-03-12").replace(GLUE, " ") == "12 Mar 2027"
    assert instant("2027-03-02T08:05:59+01:00").replace(GLUE, " ") == "2 Mar 2027, 08:05"


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("-0.02", "−0.02"),
        ("0.00", "0.00"),
        ("--", "--"),
        ("OL", "OL"),
        ("<0.01", "<0.01"),
        ("1,25", "1,25"),
        ("<-0.1", "<−0.1"),
    ],
)
def test_it_keeps_a_display_text_but_for_its_minus(text, printed):
    assert number(text) == printed


def test_it_joins_number_and_unit():
    assert amount(Amount("-5.031", "mΩ")) == f"−5.031{NO_BREAK}mΩ"
    assert signed_percent("8.9") == f"+8.9{NO_BREAK}%"
    assert signed_percent("-1.2") == f"−1.2{NO_BREAK}%"
    assert signed_percent("0.0") == f"0.0{NO_BREAK}%"


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("5.11 mΩ at 20 °C", f"5.11{NO_BREAK}mΩ at 20{NO_BREAK}°C"),
        ("25 × 3 mm", f"25 × 3{NO_BREAK}mm"),
        ("(24 - 20) and -5", "(24 − 20) and −5"),
        ("ILAC-G8:09/2019, IEC 62305-3", "ILAC-G8:09/2019, IEC 62305-3"),
        ("on 2027-01-20.", "on 20 Jan 2027."),
        ("2027-13-20", "2027-13-20"),
        ("drawing 11-2027-01-20", "drawing 11-2027-01-20"),
        ("U = 2 u", f"U{NO_BREAK}={NO_BREAK}2 u"),
        ("page 5 matters", "page 5 matters"),
    ],
)
def test_it_writes_figures_in_prose(text, printed):
    assert figures(text).replace(GLUE, " ") == printed


def test_it_lists_and_makes_sentences():
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b"]) == "a and b"
    assert listed(["a", "b", "c"], "or") == "a, b or c"
    assert sentence("a step") == "A step."
    assert sentence("Why?") == "Why?"


def test_it_breaks_no_line_between_a_number_and_its_unit():
    for width in range(60, 200, 3):
        lines = wrap(figures("found on 2027-01-20 at 5.031 mΩ and 20 °C with 10 A"), CELL, width)
        assert not any(line.endswith(("5.031", "20", "10", "Jan")) for line in lines)


@pytest.mark.parametrize("text", ["x" * 300, "one two " * 40, "a/b-c" * 60, "W" * 7, "", " two  spaces "])
def test_it_keeps_every_line_in_its_width_and_every_letter(text):
    lines = wrap(text, CELL, 57)
    assert all(width_of(line, CELL.font, CELL.size) <= 57 for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_it_shortens_with_a_sign_that_something_was_left_out():
    assert shortened("short", CELL, 100) == "short"
    assert shortened("much too long for the place", CELL, 60).endswith("…")


def test_it_names_a_character_that_the_typeface_lacks():
    assert printable("5 mΩ µ ² ° √ ≤ → − α ρ ł ș Ж") == "5 mΩ µ ² ° √ ≤ → − α ρ ł ș Ж"
    assert printable("山\r\nx\ty\u2225z\u0000") == "[U+5C71]\nx y||z[U+0000]"
    assert set(map(ord, printable("".join(map(chr, range(0x3000)))).replace("\n", ""))) <= ready()


def test_it_has_a_shape_of_its_own_for_every_state():
    drawn = list(SHAPES.values())
    assert len(set(map(repr, drawn))) == len(drawn)


def test_it_keeps_copper_for_what_must_be_acted_on():
    assert colour_of("above limit") == colour_of("overdue") == colour_of("open") == COPPER
    assert colour_of("within limit") == colour_of("closed by re-test") == VERDIGRIS
    assert colour_of("cannot be judged") == colour_of("not tested") == colour_of("risen") == INK
