"""The CSV reader: shape, header, separators, and any text coming back as it was."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sites.imports import Column, Faults, ImportRefused, Row
from sites.imports.cells import number, text
from sites.imports.faults import KEPT, PRINTED
from sites.imports.reader import LONGEST_CELL, MOST_ROWS, rows_of

COLUMNS = (
    Column("name", str, needed=True, filled=True, meaning="Write the name."),
    Column("size", number),
    Column("words", text(50)),
)


def read(content: str) -> tuple[list[Row], list[str]]:
    faults = Faults()
    rows = list(rows_of(content, COLUMNS, faults))
    try:
        faults.refuse()
    except ImportRefused as refusal:
        return rows, [str(fault) for fault in refusal.faults]
    return rows, []


def faults_of(content: str) -> list[str]:
    try:
        return read(content)[1]
    except ImportRefused as refusal:
        return [str(fault) for fault in refusal.faults]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_it_takes_the_separator_from_the_header(separator: str, end: str) -> None:
    content = f"name{separator}size{end}“a;b”{separator}2.5{end}"
    content = content.replace("“a;b”", '"a;b,\tc"')
    rows, faults = read(content)
    assert faults == []
    assert [(row["name"], str(row["size"]), row["words"]) for row in rows] == [("a;b,\tc", "2.5", None)]


def test_it_reads_a_decimal_comma_between_semicolons() -> None:
    rows, faults = read("name;size\nA;1,25\n")
    assert (str(rows[0]["size"]), faults) == ("1.25", [])


def test_it_explains_a_decimal_comma_between_commas() -> None:
    assert "semicolons" in faults_of("name,size\nA,1,25\n")[0]


def test_it_takes_header_names_in_any_case_and_ignores_empty_columns_at_the_end() -> None:
    rows, faults = read("Name ; SIZE;;\nA;1;;\n")
    assert (rows[0]["name"], faults) == ("A", [])


def test_it_skips_blank_lines_and_counts_them() -> None:
    rows, _ = read("\nname;size\n\nA;1\n;\n   \nB;2\n")
    assert [(row.line, row["name"]) for row in rows] == [(4, "A"), (7, "B")]


def test_it_names_the_line_where_a_row_begins() -> None:
    rows, _ = read('name;words\n"two\nlines";x\nB;y\n')
    assert [row.line for row in rows] == [2, 4]


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ("size;words", "The column “name” is missing"),
        ("name;size;colour", "“colour” is not a column"),
        ("name;size;size", "The column “size” is there twice"),
        ("name;;size", "has no name"),
        ("a;b;c", "names none of the columns"),
    ],
)
def test_it_checks_the_header(header: str, words: str) -> None:
    assert any(words in fault for fault in faults_of(header + "\nA;1;2\n"))


def test_it_wants_a_header() -> None:
    assert "no column names" in faults_of(";;\n \n")[0]


def test_it_names_everything_wrong_with_a_header_at_once() -> None:
    assert len(faults_of("size;size;colour\n1;2;3\n")) == 3


@pytest.mark.parametrize(
    ("rest", "words"),
    [
        ('A;1\nB;"never closed\nC;2\n', "Line 3: A quotation mark that opens here is never closed"),
        ("A;1\nB", "Line 3: The last row has 1 cells where the header names 2"),
        ("A\nB;1\n", "Line 2: The row has 1 cells where the header names 2"),
        ("A;1;extra\n", "Line 2: The row has 3 cells"),
        ('A;"1"2\n', "Line 2: A quotation mark inside a cell"),
        (f'"{"x" * 200_000}\n', "Line 2: A cell that begins here never seems to end"),
        (f"{'x' * (LONGEST_CELL + 1)};1\n", "Line 2, name: The cell holds more than 2000 characters"),
        (";1\n", "Line 2, name: The cell is empty. Write the name."),
    ],
)
def test_it_names_a_broken_row(rest: str, words: str) -> None:
    assert any(fault.startswith(words) for fault in faults_of("name;size\n" + rest)), rest[:40]


def test_it_names_every_bad_row_in_one_go_and_in_order() -> None:
    found = faults_of("name;size\nA;x\n;2\nC\nD;1;2\nE;1\nF;y\n")
    assert [fault.split(":")[0] for fault in found] == [
        "Line 2, size",
        "Line 3, name",
        "Line 4",
        "Line 5",
        "Line 7, size",
    ]


def test_it_says_a_fault_again_where_the_same_cell_comes_again() -> None:
    assert len(faults_of("name;size\nA;x\nB;x\n")) == 2


def test_it_stops_at_the_most_rows_there_may_be() -> None:
    fine = "name\n" + "A\n" * MOST_ROWS
    assert sum(1 for _ in rows_of(fine, COLUMNS, Faults())) == MOST_ROWS >= 100_000
    assert "Split it" in faults_of(fine + "A\n")[0]


def test_it_prints_some_faults_and_counts_the_others() -> None:
    faults = Faults()
    list(rows_of("name;size\n" + "A;x\n" * (KEPT + 500), COLUMNS, faults))
    with pytest.raises(ImportRefused) as caught:
        faults.refuse()
    assert (len(caught.value.faults), caught.value.total) == (KEPT, KEPT + 500)
    said = str(caught.value).splitlines()
    assert len(said) == PRINTED + 1
    assert said[-1] == f"And {KEPT + 500 - PRINTED} more like these."


FIELDS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs"], exclude_characters="\0"), max_size=30
)


@given(st.lists(st.tuples(FIELDS, FIELDS), min_size=1, max_size=8), st.sampled_from([",", ";", "\t"]))
def test_it_gives_back_any_text_a_csv_writer_wrote(cells: list[tuple[str, str]], separator: str) -> None:
    columns = (Column("name", str), Column("words", str))
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, quoting=csv.QUOTE_ALL)
    writer.writerows([("name", "words"), *cells])
    faults = Faults()
    rows = list(rows_of(out.getvalue(), columns, faults))
    expected = [tuple(cell.strip() or None for cell in pair) for pair in cells]
    assert [(row["name"], row["words"]) for row in rows] == [pair for pair in expected if any(pair)]
    assert len(faults) == 0
