"""The answer to somebody who wants a list as a file."""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from tempfile import TemporaryFile
from typing import Any
from urllib.parse import urlencode

import django_tables2 as tables
from django.forms import BaseForm
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.text import slugify
from django_tables2.data import TableData

from sites.exports import csv_file, workbook
from sites.exports.cells import Cell
from sites.exports.columns import FileColumn, cells_of, columns_of
from sites.exports.rows import batches
from sites.tables import understood

CSV, XLSX = "csv", "xlsx"
OFFERED = (("CSV", CSV), ("Workbook", XLSX))
LONGEST_NAME = 80
HEADERS = {"Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff"}


def as_file(
    request: HttpRequest,
    table: tables.Table,
    name: str,
    *,
    at: datetime,
    rows: TableData | None = None,
    narrowed_by: BaseForm | None = None,
    beside: Iterable[str] = (),
    also: Iterable[str] = (),
) -> HttpResponseBase | None:
    """The whole list as the file the address asks for (``?as=csv``, ``?as=xlsx``); None where it asks for the page.

    Call it before paging: it also sorts the list as the address asks, and puts the links to the files below it. The
    list's rows are the table's own, so what may not be seen on its pages is not in its file either. Where something
    in the address is not understood there is no file, which nobody would know to be another list than they asked
    for: the answer says what it was (400).

    name: what the list is called, in words; it names the file and the sheet
    rows: the whole list, where the table was given no more than its page
    narrowed_by: the form of the filters that narrow it
    beside, also: prefixes of the other lists of its page, and what else that asks of its address
    """
    field = f"{table.prefix or ''}as"
    wanted = request.GET.get(field)
    understood.sort(table, request)
    if narrowed_by is not None:
        for sentence in understood.narrowing(narrowed_by):
            understood.say(table, sentence)
    understood.names(request, table, form=narrowed_by, beside=beside, also=also)
    kept = _kept(request, table, field, narrowed_by)
    if wanted not in (CSV, XLSX):
        table.files = _links(kept, field)
        if wanted:
            understood.say(
                table, f"No list is handed out as {understood.quoted(wanted)}: take CSV or a workbook."
            )
        return None
    if sentences := [*understood.not_understood(table), *understood.of_page(request).values()]:
        return no_file(request, sentences, f"?{urlencode(kept)}")
    columns = columns_of(table)
    filename = f"{slugify(name)[:LONGEST_NAME].strip('-') or 'list'}-{at:%Y-%m-%d}.{wanted}"
    headers = {**HEADERS, "Content-Disposition": f'attachment; filename="{filename}"'}
    heads = [column.head for column in columns]
    found = _rows(table, columns, table.data if rows is None else rows)
    if wanted == CSV:
        return StreamingHttpResponse(
            csv_file.lines(heads, found), content_type=csv_file.CONTENT_TYPE, headers=headers
        )
    file = TemporaryFile()  # noqa: SIM115 - the response closes it
    workbook.write(file, name, heads, found, _about(request, name, kept, at))
    file.seek(0)
    return FileResponse(file, content_type=workbook.CONTENT_TYPE, headers=headers)


def no_file(request: HttpRequest, sentences: list[str], without: str) -> HttpResponse:
    """The answer where a file would be another than was asked for. without: address of the list as it was understood"""
    return render(request, "no_file.html", {"sentences": sentences, "list": without}, status=400)


def _rows(table: tables.Table, columns: list[FileColumn], data: TableData) -> Iterator[list[Cell]]:
    """Cells are drawn in the time zone of the page, though the answer is sent after the view has ended."""
    zone = timezone.get_current_timezone()
    for batch in batches(data):
        with timezone.override(zone):
            rows = [cells_of(columns, table, record) for record in batch]
        yield from rows


def _kept(
    request: HttpRequest, table: tables.Table, field: str, form: BaseForm | None
) -> list[tuple[str, str]]:
    """Filters and order, as far as they were understood; the page that the address shows is none of them."""
    left_out = {
        table.prefixed_page_field,
        field,
        *(form.errors if form else ()),
        *understood.of_page(request),
    }
    if not table.sorted_by:
        left_out.add(table.prefixed_order_by_field)
    return [
        (key, value)
        for key, values in request.GET.lists()
        if key not in left_out
        for value in values
        if value
    ]


def _links(kept: list[tuple[str, str]], field: str) -> list[tuple[str, str]]:
    return [(label, f"?{urlencode([*kept, (field, kind)])}") for label, kind in OFFERED]


def _about(
    request: HttpRequest, name: str, kept: list[tuple[str, str]], at: datetime
) -> list[tuple[str, str]]:
    told: list[tuple[str, Any]] = [
        ("List", name),
        ("Made at", f"{at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"),
        ("Made by", request.user),
        ("From", request.build_absolute_uri(request.path)),
    ]
    told += kept or [("Filters", "none")]
    return [(what, str(words)) for what, words in told]
