"""What an address asks of a list, and the sentences for what of it was not understood.

A list never leaves out a wish in silence: whoever reads it would take it for another one than it is.
"""

from typing import Any

import django_tables2 as tables
from django.http import HttpRequest

LONGEST_SHOWN = 40
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


def narrowing(form: Any) -> list[str]:
    """Which of the filters in this form narrow nothing, since they were not understood."""
    called = [form.fields[name].label or name if name in form.fields else name for name in form.errors]
    return [f"“{one}” was not understood, so the list is not narrowed by it." for one in called]
