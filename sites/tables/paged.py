"""Paging of tables whose rows are fetched a page at a time."""

from collections.abc import Callable, Sequence
from typing import Any

import django_tables2 as tables
from django.core.paginator import EmptyPage, Page, Paginator
from django.http import HttpRequest
from django_tables2.data import TableData
from django_tables2.paginators import LazyPaginator

from sites.tables import understood

LONGEST_NUMBER = 6


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


def paginate(table: tables.Table, request: HttpRequest, *, per_page: int, counted: bool = False) -> None:
    """Show the page that the address asks for; one that is there, and a sentence, where it asks for none that is.

    counted: the list is counted, so that its pages are told as “2 of 9” and the nearest one can be shown
    """
    understood.sort(table, request)
    field = table.prefixed_page_field
    asked = request.GET.get(field, "")
    number = page_number(request, field)
    if wrong := no_page(request, field):
        understood.say(table, wrong)
    paginator = Paginator if counted else LazyPaginator
    try:
        table.paginate(paginator, per_page=per_page, page=number)
    except EmptyPage:
        nearest = table.paginator.num_pages if counted else 1
        understood.say(table, no_such_page(asked, nearest))
        table.paginate(paginator, per_page=per_page, page=nearest)


def page_of(rows: Any, request: HttpRequest, *, per_page: int, field: str = "page") -> tuple[Page, str]:
    """A counted page of rows that are no table, and a sentence where the one asked for is not there, else ""."""
    number = page_number(request, field)
    page = Paginator(rows, per_page).get_page(number)
    beyond = no_such_page(request.GET.get(field, ""), page.number) if page.number != number else ""
    return page, no_page(request, field) or beyond


def no_page(request: HttpRequest, field: str) -> str:
    """A sentence where the address asks under that name for something that is no page; else ""."""
    asked = request.GET.get(field, "")
    return no_such_page(asked) if asked and str(page_number(request, field)) != asked.lstrip("0") else ""


def no_such_page(asked: str, shown: int = 1) -> str:
    return f"There is no page {understood.quoted(asked)} of this list. This is page {shown}."


def page_number(request: HttpRequest, name: str) -> int:
    """The page asked for under that name: 1 where it is no number or none that could exist."""
    wanted = request.GET.get(name, "")
    number = int(wanted) if wanted.isascii() and wanted.isdecimal() and len(wanted) <= LONGEST_NUMBER else 1
    return max(number, 1)
