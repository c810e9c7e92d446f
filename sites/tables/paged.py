"""Paging of tables whose rows are fetched a page at a time."""

from collections.abc import Callable, Sequence
from typing import Any

import django_tables2 as tables
from django.core.paginator import EmptyPage
from django.http import HttpRequest
from django_tables2.data import TableData
from django_tables2.paginators import LazyPaginator


class FetchedInPages(TableData):
    """Rows that a function fetches: fetch(start, stop) gives a list. The whole is never counted or sorted."""

    def __init__(self, fetch: Callable[[int, int], Sequence[Any]]) -> None:
        super().__init__([])
        self.fetch = fetch

    def __getitem__(self, key: slice) -> Sequence[Any]:
        return self.fetch(key.start or 0, key.stop)

    def __len__(self) -> int:
        raise TypeError("Rows fetched in pages are not counted.")

    def order_by(self, aliases: Any) -> None:
        """The order is the fetching function's own."""


def paginate(table: tables.Table, request: HttpRequest, *, per_page: int) -> None:
    """Show the page that the address asks for; the first where it asks for none that exists."""
    number = page_number(request, table.prefixed_page_field)
    try:
        table.paginate(LazyPaginator, per_page=per_page, page=number)
    except EmptyPage:
        table.paginate(LazyPaginator, per_page=per_page, page=1)


def page_number(request: HttpRequest, name: str) -> int:
    """The page asked for under that name: 1 where it is no number or none that could exist."""
    wanted = request.GET.get(name, "")
    number = int(wanted) if wanted.isascii() and wanted.isdecimal() and len(wanted) < 7 else 1
    return max(number, 1)
