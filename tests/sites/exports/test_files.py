"""Lists as files: read back with the csv module and with openpyxl."""

import csv
import io
from datetime import UTC, date, datetime
from decimal import Decimal

import django_tables2 as tables
import openpyxl
import pytest
from django.contrib.auth.models import AnonymousUser
from django.test import RequestFactory
from django.utils.html import format_html

from sites.exports import workbook
from sites.exports.answer import as_file
from sites.exports.columns import columns_of
from sites.tables.paged import FetchedInPages
from sites.templatetags.downlead import reading

AT = datetime(2027, 5, 17, 12, 0, tzinfo=UTC)
HOSTILE = [
    "=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(A1:A9)", "\t=1", "\r=1", " =1", "a;=1+1", "a,\"b\"", "x\ny",
    "#N/A", "-0.46", "−0.46", "Ω µ ² Łódź",
]  # fmt: skip


class Row:
    def __init__(self, name: str, number: Decimal = Decimal("-0.460")) -> None:
        self.name, self.number = name, number
        self.day, self.at = date(1872, 3, 4), AT
        self.count = 3


class PlainTable(tables.Table):
    name = tables.Column("Place")
    number = tables.Column("Reading [mΩ]")
    drawn = tables.Column("Limit", empty_values=(), attrs={"td": {"class": "n"}})
    day = tables.Column()
    at = tables.Column()
    count = tables.Column()

    class Meta:
        orderable = False

    def render_drawn(self, record: Row):
        return format_html('{}<span class="second">as found</span>', reading("20.00", "mΩ"))


def answer(table: tables.Table, address: str, name: str = "rows", **more):
    request = RequestFactory().get(address)
    request.user = AnonymousUser()
    return as_file(request, table, name, at=AT, **more)


def read_csv(response) -> list[list[str]]:
    return list(csv.reader(io.StringIO(b"".join(response.streaming_content).decode("utf-8-sig"), newline="")))


def book(response):
    return openpyxl.load_workbook(io.BytesIO(b"".join(response.streaming_content)))


def test_a_csv_comes_back_guarded_and_typed() -> None:
    heads, *rows = read_csv(answer(PlainTable([Row(text) for text in HOSTILE]), "/?as=csv"))
    assert heads == ["Place", "Reading [mΩ]", "Limit", "Limit, unit", "Limit, note", "Day", "At", "Count"]
    for text, row in zip(HOSTILE, rows, strict=True):
        runs = text.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r")) and text != "-0.46"
        assert row[0] == (f"'{text}" if runs else text)
        assert row[1:] == [
            "-0.460",
            "20.00",
            "mΩ",
            "as found",
            "1872-03-04",
            "2027-05-17T12:00:00+00:00",
            "3",
        ]


def test_a_csv_quotes_every_cell_so_that_no_other_separator_ends_one() -> None:
    whole = b"".join(answer(PlainTable([Row("a;=1+1")]), "/?as=csv").streaming_content)
    assert b'"a;=1+1",' in whole
    assert whole.startswith(b'\xef\xbb\xbf"Place"')


def test_a_workbook_comes_back_with_text_numbers_and_days() -> None:
    sheet = book(answer(PlainTable([Row(text) for text in HOSTILE]), "/?as=xlsx")).worksheets[0]
    heads, *rows = list(sheet.iter_rows())
    assert [cell.value for cell in heads][:4] == ["Place", "Reading [mΩ]", "Limit", "Limit, unit"]
    for text, row in zip(HOSTILE, rows, strict=True):
        assert row[0].data_type == "s"
        assert row[0].value.replace("\r", "\n") == text.replace("\r", "\n")
        assert (row[1].data_type, row[1].value, row[1].number_format) == ("n", -0.46, "0.000")
        assert (row[2].value, row[2].number_format) == (20, "0.00")
        assert row[5].value == "1872-03-04"
        assert row[6].value == datetime(2027, 5, 17, 12, 0)
        assert "UTC" in row[6].number_format
        assert row[7].value == 3
    assert sheet.freeze_panes == "A2"


def test_a_workbook_holds_days_as_days() -> None:
    row = Row("x")
    row.day = date(2027, 3, 12)
    sheet = book(answer(PlainTable([row]), "/?as=xlsx")).worksheets[0]
    cell = sheet["F2"]
    assert (cell.is_date, cell.value.date(), cell.number_format) == (True, date(2027, 3, 12), "d mmm yyyy")


def test_a_workbook_says_what_the_list_was_narrowed_to() -> None:
    table = PlainTable([Row("x")])
    asked = answer(table, "/visits/?as=xlsx&state=planned&page=3&empty=", also=["state", "empty"])
    about = book(asked)["About this list"]
    told = dict(row for row in about.iter_rows(values_only=True))
    assert told["state"] == "planned"
    assert told["Made at"] == "2027-05-17 12:00 UTC"
    assert told["From"] == "http://testserver/visits/"
    assert not {"page", "as", "empty"} & set(told)


def test_a_workbook_goes_on_on_another_sheet(monkeypatch) -> None:
    monkeypatch.setattr(workbook, "ROWS_A_SHEET", 3)
    found = book(answer(PlainTable([Row(str(n)) for n in range(5)]), "/?as=xlsx", "rows: of/this"))
    sheets = [[cell for (cell, *_) in sheet.iter_rows(values_only=True)] for sheet in found.worksheets[:-1]]
    assert sheets == [["Place", "0", "1"], ["Place", "2", "3"], ["Place", "4"]]
    assert found.sheetnames == ["rows  of this", "rows  of this 2", "rows  of this 3", "About this list"]


def test_a_text_too_long_for_a_workbook_says_that_it_is_cut() -> None:
    sheet = book(answer(PlainTable([Row("x" * 40_000)]), "/?as=xlsx")).worksheets[0]
    assert len(sheet["A2"].value) == 32_767
    assert sheet["A2"].value.endswith("(cut here: longer than a cell holds)")


def test_an_empty_list_has_its_heads() -> None:
    assert read_csv(answer(PlainTable([]), "/?as=csv"))[0][0] == "Place"
    assert book(answer(PlainTable([]), "/?as=xlsx")).worksheets[0]["A1"].value == "Place"


def test_it_fetches_to_the_end_in_batches() -> None:
    asked = []

    def fetch(start: int, stop: int) -> list[Row]:
        asked.append((start, stop))
        return [Row(str(n)) for n in range(start, min(stop, 1200))]

    _, *rows = read_csv(answer(PlainTable(FetchedInPages(fetch)), "/?as=csv"))
    assert [row[0] for row in rows] == [str(n) for n in range(1200)]
    assert asked == [(0, 500), (500, 1000), (1000, 1500), (1500, 2000)]


@pytest.mark.parametrize("address", ["/", "/?as=", "/?as=pdf", "/?as=CSV"])
def test_it_answers_with_the_page_where_no_file_is_asked_for(address) -> None:
    table = PlainTable([Row("x")])
    assert answer(table, address) is None
    assert [label for label, _ in table.files] == ["CSV", "Workbook"]


def test_its_links_keep_the_filters_and_leave_the_page() -> None:
    table = PlainTable([Row("x")], prefix="points-")
    known = {"beside": [""], "also": ["text"]}
    answer(table, "/?text=a%26b&points-page=4&page=2&points-as=x", **known)
    assert table.files[0][1] == "?text=a%26b&page=2&points-as=csv"
    made = answer(table, table.files[0][1], **known)
    assert made is not None and made.status_code == 200


def test_it_makes_no_file_of_names_that_its_page_does_not_know() -> None:
    refused = answer(PlainTable([Row("x")], prefix="points-"), "/?text=a&points-as=csv")
    assert refused is not None and refused.status_code == 400
    assert "does not know “text”" in refused.content.decode()


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("visits", "visits-2027-05-17.csv"),
        ('points of "; filename=x.exe /../\r\nA: b', "points-of-filenamexexe-a-b-2027-05-17.csv"),
        ("日本", "list-2027-05-17.csv"),
        ("long " * 60, f"{'long-' * 15}long-2027-05-17.csv"),
    ],
)
def test_its_name_is_safe(name, file) -> None:
    response = answer(PlainTable([]), "/?as=csv", name)
    assert response["Content-Disposition"] == f'attachment; filename="{file}"'
    assert response["Cache-Control"] == "private, no-store"


def test_a_table_that_speaks_of_a_column_it_lacks_is_told() -> None:
    class Wrong(PlainTable):
        def in_file(self):
            return {"nmae": (("Name", "name"),)}

    with pytest.raises(LookupError, match="Wrong has no column nmae"):
        columns_of(Wrong([]))
