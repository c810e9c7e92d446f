"""The rows of a table, batch by batch, each batch at the same number of queries however long the list is."""

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

from django.db.models import QuerySet
from django_tables2.data import TableData

from sites.tables.sorting import SortedInPages

BATCH = 500


def batches(data: TableData, size: int = BATCH) -> Iterator[Sequence[Any]]:
    """Every record, in the order of the list; nothing is counted.

    A queryset is first asked for its keys, so that a row written meanwhile moves no other row.
    """
    if isinstance(data, SortedInPages) and not data.dressed:
        return _by_keys(data.rows, size)
    if hasattr(data, "fetch"):
        return _fetched(data.fetch, size)
    if isinstance(data.data, QuerySet):
        return _by_keys(data.data, size)
    return _sliced(data.data, size)


def _fetched(fetch: Any, size: int) -> Iterator[Sequence[Any]]:
    start = 0
    while rows := fetch(start, start + size):
        yield rows
        start += size


def _by_keys(rows: QuerySet, size: int) -> Iterator[Sequence[Any]]:
    keys = iter(list(rows.values_list("pk", flat=True)))
    while batch := list(islice(keys, size)):
        found = {row.pk: row for row in rows.order_by().filter(pk__in=batch)}
        yield [found[key] for key in batch if key in found]


def _sliced(rows: Sequence[Any], size: int) -> Iterator[Sequence[Any]]:
    for start in range(0, len(rows), size):
        yield rows[start : start + size]
