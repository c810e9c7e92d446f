"""Every list can be taken along: each table of each page offers its files, and both can be opened and reckoned with."""

import csv
import io
import re
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest
from django.db.models import CharField, Value
from django.db.models.functions import Cast, Concat
from django.urls import resolve
from django_tables2 import Table
from openpyxl import load_workbook

from sites.models import Client, Person, Site, Structure
from tests.access.cast import INSIDE
from tests.access.crawl import WITHOUT_FILES, shown_in, tables_in
from tests.access.line import MAY
from tests.access.stage import Stage
from tests.access.table import lines

pytestmark = pytest.mark.django_db
TABLE = {line.name: line for line in lines()}
LISTS = sorted(line.name for line in TABLE.values() if line.rows)
FORMULA = "=cmd|' /C calc'!A0"
# Text that a spreadsheet could reckon with, were it a number or a day.
NUMBER = re.compile(r"[-−+]?\d+(?:[.,]\d+)?")
FIGURE = re.compile(r"[-−+]?\d+(?:[.,]\d+)?[ \u00a0](?:m?Ω|kΩ|m|mm²?|cm|km|A|mA|kA|°C|days?|months?|%|Ωm)")
DAY = re.compile(r"\d{4}-\d\d-\d\d(?:[T ].*)?|\d{1,2} [A-Z][a-z]{2} \d{4}")
# Names, though many look like a number; what a display showed is kept as it stood there, beside the number.
NAMES = re.compile(
    r"(?i)point|identity|hash|payload|seed|^number$|serial|^instrument$|name|^edition$|^as displayed$|further days"
)


def reader_of(name: str) -> str:
    return next(role for role in INSIDE if TABLE[name].expected(role, "GET") == MAY)


def tables_of(stage: Stage, name: str) -> tuple[str, list[Table]]:
    line = TABLE[name]
    assert line.rows is not None
    line.rows(stage, 3)
    address = stage.address(line)
    return address, tables_in(stage.ask(reader_of(name), "GET", address))


def texts(answer: Any) -> str:
    return b"".join(answer.streaming_content).decode("utf-8-sig")


def with_formulas_for_names(stage: Stage) -> None:
    """Whatever has a name is named like something a spreadsheet would run."""
    for model in (Client, Site, Structure, Person):
        model.objects.update(name=Concat(Value(FORMULA), Cast("pk", CharField())))


@pytest.mark.parametrize("name", LISTS)
def test_every_table_offers_its_files(stage: Stage, name: str) -> None:
    _, tables = tables_of(stage, name)
    assert tables
    without = [type(table).__name__ for table in tables if not getattr(table, "files", None)]
    missing = [which for which in without if (name, which) not in WITHOUT_FILES]
    assert not missing, (
        f"{missing}: one line before paging, as_file(request, table, …); see sites.exports.answer."
    )


def test_what_is_excepted_is_there_and_has_no_files(stage: Stage) -> None:
    for name, which in WITHOUT_FILES:
        found = [table for table in tables_of(stage, name)[1] if type(table).__name__ == which]
        assert all(not getattr(table, "files", None) for table in found), (name, which)


@pytest.mark.parametrize("name", LISTS)
def test_the_files_open_and_their_cells_are_typed(stage: Stage, name: str) -> None:
    with_formulas_for_names(stage)
    address, tables = tables_of(stage, name)
    for table in filter(shown_in, tables):
        for label, query in getattr(table, "files", None) or ():
            answer = stage.ask(reader_of(name), "GET", f"{address.partition('?')[0]}{query}")
            assert answer.status_code == 200 and answer["Content-Disposition"].startswith("attachment"), label
            if label == "CSV":
                check_csv(list(csv.reader(io.StringIO(texts(answer)))))
            else:
                check_workbook(b"".join(answer.streaming_content))


def check_csv(found: list[list[str]]) -> None:
    head, *rows = found
    assert all(head) and len(set(head)) == len(head), head
    assert rows and all(len(row) == len(head) for row in rows)
    for what, cell in cells(head, rows):
        begins = cell.lstrip()
        assert not begins.startswith(("=", "+", "-", "@")) or NUMBER.fullmatch(begins), (what, cell)
        assert "<" not in cell or ">" not in cell, (what, cell)
        assert cell != "None", what


def check_workbook(content: bytes) -> None:
    book = load_workbook(io.BytesIO(content))
    first, about = book.worksheets[0], book.worksheets[-1]
    assert about.title == "About this list" and first.freeze_panes == "A2"
    head, *rows = [[cell.value for cell in row] for row in first.iter_rows()]
    assert all(cell.data_type != "f" for row in first.iter_rows() for cell in row)
    for what, cell in cells(head, rows):
        if isinstance(cell, str) and not NAMES.search(what):
            assert not DAY.fullmatch(cell), f"{what}: {cell} is a day written as words"
            assert not NUMBER.fullmatch(cell), f"{what}: {cell} is a number written as words"
            assert not FIGURE.fullmatch(cell), f"{what}: {cell}; the unit belongs in the head or beside it"
        assert not isinstance(cell, datetime) or cell.year > 1900


def cells(head: list[str], rows: list[list[Any]]) -> Iterator[tuple[str, Any]]:
    for row in rows:
        yield from zip(head, row, strict=True)


def test_a_negative_reading_stays_a_number_in_both_files(stage: Stage) -> None:
    line = TABLE["point"]
    stage.here.read(stage.visit, {"3": "-0.46"})
    address = stage.address(line).replace(f"/{stage.point.pk}/", f"/{stage.here.points['3'].pk}/")
    assert resolve(address).view_name == "point"
    who = reader_of("point")
    rows = list(csv.reader(io.StringIO(texts(stage.ask(who, "GET", f"{address}?as=csv")))))
    assert "-0.46" in [cell for row in rows for cell in row]
    book = load_workbook(io.BytesIO(b"".join(stage.ask(who, "GET", f"{address}?as=xlsx").streaming_content)))
    assert -0.46 in [cell.value for row in book.worksheets[0].iter_rows() for cell in row]
