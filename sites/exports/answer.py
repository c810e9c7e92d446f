"""The answer to somebody who wants a list as a file."""

from collections.abc import Iterator
from datetime import UTC, datetime
from tempfile import TemporaryFile
from typing import Any
from urllib.parse import urlencode

import django_tables2 as tables
from django.http import FileResponse, HttpRequest, HttpResponseBase, StreamingHttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django_tables2.data import TableData

from sites.exports import csv_file, workbook
from sites.exports.cells import Cell
from sites.exports.columns import FileColumn, cells_of, columns_of
from sites.exports.rows import batches

CSV, XLSX = "csv", "xlsx"
OFFERED = (("CSV", CSV), ("Workbook", XLSX))
LONGEST_NAME = 80
HEADERS = {"Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff"}


def as_file(
    request: HttpRequest, table: tables.Table, name: str, *, at: datetime, rows: TableData | None = None
) -> HttpResponseBase | None:
    """The whole list as the file the address asks for (``?as=csv``, ``?as=xlsx``); None where it asks for the page.

    Call it before paging: it also puts the links to the files below the list. The list's rows are the table's
    own, so what may not be seen on its pages is not in its file either.

    name: what the list is called, in words; it names the file and the sheet
    rows: the whole list, where the table was given no more than its page
    """
    field = f"{table.prefix or ''}as"
    wanted = request.GET.get(field)
    if wanted not in (CSV, XLSX):
        table.files = _links(request, table, field)
        return None
    if order := request.GET.getlist(table.prefixed_order_by_field):
        table.order_by = order
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
    workbook.write(file, name, heads, found, _about(request, table, name, field, at))
    file.seek(0)
    return FileResponse(file, content_type=workbook.CONTENT_TYPE, headers=headers)


def _rows(table: tables.Table, columns: list[FileColumn], data: TableData) -> Iterator[list[Cell]]:
    """Cells are drawn in the time zone of the page, though the answer is sent after the view has ended."""
    zone = timezone.get_current_timezone()
    for batch in batches(data):
        with timezone.override(zone):
            rows = [cells_of(columns, table, record) for record in batch]
        yield from rows


def _set(request: HttpRequest, table: tables.Table, field: str) -> list[tuple[str, str]]:
    """The filters and the order that the address carries; the page it shows is none of them."""
    left_out = (table.prefixed_page_field, field)
    return [
        (key, value)
        for key, values in request.GET.lists()
        if key not in left_out
        for value in values
        if value
    ]


def _links(request: HttpRequest, table: tables.Table, field: str) -> list[tuple[str, str]]:
    kept = _set(request, table, field)
    return [(label, f"?{urlencode([*kept, (field, kind)])}") for label, kind in OFFERED]


def _about(
    request: HttpRequest, table: tables.Table, name: str, field: str, at: datetime
) -> list[tuple[str, str]]:
    told: list[tuple[str, Any]] = [
        ("List", name),
        ("Made at", f"{at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"),
        ("Made by", request.user),
        ("From", request.build_absolute_uri(request.path)),
    ]
    told += [(key, value) for key, value in _set(request, table, field)] or [("Filters", "none")]
    return [(what, str(words)) for what, words in told]
