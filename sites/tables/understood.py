"""What an address asks of a list, and the sentences for what of it was not understood.

A list never leaves out a wish in silence: whoever reads it would take it for another one than it is.
"""

from collections.abc import Iterable
from difflib import get_close_matches
from itertools import islice
from typing import Any

import django_tables2 as tables
from django.forms import BaseForm
from django.http import HttpRequest

LONGEST_SHOWN = 40
MOST_NAMES = 5
OF_A_TABLE = ("sort", "page", "as")
USUAL = "The list stands in its usual order."


def quoted(words: str) -> str:
    """What somebody wrote, in quotation marks: short, and nothing in it that no page can show."""
    shown = "".join(letter if letter.isprintable() else "\ufffd" for letter in words[:LONGEST_SHOWN])
    return f"“{shown}{'…' if len(words) > LONGEST_SHOWN else ''}”"


def not_understood(table: tables.Table) -> list[str]:
    """The sentences that its page shows above the list, once ``sort`` has looked at the address."""
    found: list[str] = table.not_understood
    return found


def say(table: tables.Table, sentence: str) -> None:
    if sentence not in not_understood(table):
        table.not_understood.append(sentence)


def sort(table: tables.Table, request: HttpRequest) -> None:
    """Sort by the column that the address names, if it does; ``table.sorted_by`` is that one, else ""."""
    if getattr(table, "asked_by", None) is request:
        return
    table.asked_by = request
    table.sorted_by, table.not_understood = "", []
    for wanted in filter(None, request.GET.getlist(table.prefixed_order_by_field)):
        name = wanted.removeprefix("-")
        if table.sorted_by:
            say(table, f"It is sorted by one column at a time; {quoted(wanted)} was left out.")
        elif name in table.columns.names() and table.columns[name].orderable:
            table.sorted_by = wanted
        else:
            say(table, f"This list does not sort by {quoted(wanted)}. {USUAL}")
    if table.sorted_by:
        table.order_by = [table.sorted_by]
        _told(table)


def _told(table: tables.Table) -> None:
    """Its caption no longer tells the usual order, but the one it stands in."""
    head = table.columns[table.sorted_by.removeprefix("-")].header
    table.sorted_words = f"{head}, {'descending' if table.sorted_by.startswith('-') else 'ascending'}"
    what = (getattr(table, "caption", "") or "This list").partition(",")[0]
    table.caption = f"{what}, sorted by {table.sorted_words}"


def of_page(request: HttpRequest) -> dict[str, str]:
    """By names in the address, sentences that concern no single list: they are shown once, above the page's first."""
    held: Any = request
    if not hasattr(held, "not_understood"):
        held.not_understood = {}
    found: dict[str, str] = held.not_understood
    return found


def names(
    request: HttpRequest,
    table: tables.Table | None = None,
    *,
    form: BaseForm | None = None,
    beside: Iterable[str] = (),
    also: Iterable[str] = (),
) -> None:
    """Find the names in the address that its page does not know.

    table, form: a list of the page and what narrows it; beside: prefixes of its other lists; also: what it asks besides
    """
    prefixes = [*beside] if table is None else [table.prefix or "", *beside]
    known = {f"{prefix}{name}" for prefix in prefixes for name in OF_A_TABLE} | {
        *also,
        *(form.fields if form else ()),
    }
    for name in islice((one for one in request.GET if one not in known), MOST_NAMES):
        meant = "".join(f" Was {quoted(one)} meant?" for one in get_close_matches(name, known, 1))
        of_page(request)[name] = f"This page does not know {quoted(name)}, so it changes nothing here.{meant}"


def narrowing(form: Any) -> list[str]:
    """Which of the filters in this form narrow nothing, since they were not understood."""
    called = [form.fields[name].label or name if name in form.fields else name for name in form.errors]
    return [f"“{one}” was not understood, so the list is not narrowed by it." for one in called]
