"""Single cells: strict, exact, and a sentence where they cannot be read."""

from datetime import date
from decimal import Decimal

import pytest

from sites.imports import cells
from sites.imports.cells import CellFault

LENGTH = cells.quantity(cells.LENGTHS_IN_M, "60 m")


@pytest.mark.parametrize(
    "cell", ["=1+1", "+1", "-1", "@SUM(A1)", "＝cmd", "  =HYPERLINK(1)", "-", "=cmd|' /C calc'!A0", "\t=1"]
)
def test_it_refuses_a_formula_in_words(cell: str) -> None:
    with pytest.raises(CellFault, match="begins like a formula"):
        cells.text(100)(cell.strip())


@pytest.mark.parametrize(
    "cell", ["<script>alert(1)</script>", "<b>St Anne</b>", "a = b", "north-east", "Łódź & Söhne", "x@y"]
)
def test_it_keeps_markup_and_signs_within_words_as_they_are(cell: str) -> None:
    assert cells.text(100)(cell) == cell


def test_it_makes_one_space_of_several_and_one_letter_of_two_marks() -> None:
    assert cells.text(100)("St\u00a0 Zoe\u0308") == "St Zoë"


@pytest.mark.parametrize(
    ("cell", "words"),
    [("a\nb", "line break"), ("a\x07b", "cannot be printed"), ("x" * 101, "101 characters; at most 100")],
)
def test_it_refuses_words_that_do_not_fit(cell: str, words: str) -> None:
    with pytest.raises(CellFault, match=words):
        cells.text(100)(cell)


@pytest.mark.parametrize(
    ("cell", "value"),
    [("1.50", "1.50"), ("1,50", "1.50"), ("-0.2", "-0.2"), ("−3", "-3"), ("+4", "4"), (".5", "0.5")],
)
def test_it_reads_a_plain_number_exactly(cell: str, value: str) -> None:
    assert str(cells.number(cell)) == value


@pytest.mark.parametrize(
    "cell", ["1.234,5", "1 234", "1e5", "NaN", "12m", "=1", "1.2.3", "0x10", "1" * 19, "", "٣"]
)
def test_it_refuses_other_numbers(cell: str) -> None:
    with pytest.raises(CellFault, match="not a plain number"):
        cells.number(cell)


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("60 m", "60"),
        ("60m", "60"),
        ("0,60 m", "0.60"),
        ("1200 mm", "1.200"),
        ("10 ft", "3.0480"),
        ("5\u00a0cm", "0.05"),
    ],
)
def test_it_reads_a_length_in_metres(cell: str, value: str) -> None:
    assert str(LENGTH(cell)) == value


@pytest.mark.parametrize("cell", ["60", "60 M", "60 yd", "m", "60 m²", "60 m 20", "-3 m", "0 m"])
def test_it_refuses_a_length_without_a_known_unit_or_size(cell: str) -> None:
    with pytest.raises(CellFault):
        LENGTH(cell)


@pytest.mark.parametrize(
    ("cell", "value"),
    [("75 mm²", "75"), ("75 mm2", "75"), ("25 x 3 mm", "75"), ("25×3 mm", "75"), ("20 x 2,5 mm", "50.0")],
)
def test_it_reads_a_section_also_of_a_tape(cell: str, value: str) -> None:
    assert cells.section(cell) == Decimal(value)


@pytest.mark.parametrize("cell", ["75", "25 x 3", "25 mm x 3 mm", "75 mm", "0 x 3 mm", "25 x 3 cm"])
def test_it_refuses_other_sections(cell: str) -> None:
    with pytest.raises(CellFault):
        cells.section(cell)


def test_a_day_in_a_year_out_of_reach_is_a_slip() -> None:
    for cell in ("0207-03-12", "9999-12-31"):
        with pytest.raises(CellFault, match="out of reach"):
            cells.day(cell)


def test_it_reads_a_day_one_way_only() -> None:
    assert cells.day("2024-02-29") == date(2024, 2, 29)
    for cell in ("2023-02-29", "29.2.2024", "02/03/2024", "2024-2-9", "20240209"):
        with pytest.raises(CellFault, match="day"):
            cells.day(cell)


def test_it_names_the_choices_for_a_word_it_does_not_know() -> None:
    with pytest.raises(CellFault, match=r"“maybe” is not yes or no\. Write yes or no\."):
        cells.yes_no("maybe")
    assert cells.yes_no("YES") is True
