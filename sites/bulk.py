"""Inserting many rows of one table at the speed of the database rather than of the row compiler."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, datetime
from itertools import islice
from typing import Any, TypeVar
from uuid import UUID

from django.db import connections, models, router, transaction

BATCH = 2000
_PLAIN = (str, int, bool, type(None))
_Row = TypeVar("_Row", bound=models.Model)


def insert(model: type[_Row], rows: Iterable[_Row]) -> int:
    """Insert unsaved rows in their order and give each its key, as ``bulk_create`` does, several times as fast.

    Call it inside a transaction. Columns that the database generates are not read back.
    Returns: how many rows there were
    """
    using = router.db_for_write(model)
    connection = connections[using]
    if not connection.in_atomic_block:
        raise transaction.TransactionManagementError("Many rows are inserted in the transaction of one act.")
    fields = [one for one in model._meta.concrete_fields if not one.generated]
    columns = ", ".join(connection.ops.quote_name(str(one.column)) for one in fields)
    marks = ", ".join(["%s"] * len(fields))
    table = connection.ops.quote_name(model._meta.db_table)
    statement = f"INSERT INTO {table} ({columns}) VALUES ({marks})"  # noqa: S608 - names of our own models
    readers = [(one.attname, _prepared(one, connection)) for one in fields]
    count = 0
    for batch in _batches(rows):
        _settle_parents(model, batch)
        _give_keys(model, batch, connection)
        with connection.cursor() as cursor:
            cursor.executemany(statement, _values(batch, readers))
        for row in batch:
            row._state.adding, row._state.db = False, using
        count += len(batch)
    return count


def _batches(rows: Iterable[_Row]) -> Iterator[list[_Row]]:
    remaining = iter(rows)
    while batch := list(islice(remaining, BATCH)):
        yield batch


def _values(
    batch: Sequence[models.Model], readers: list[tuple[str, Callable[[Any], Any]]]
) -> list[list[Any]]:
    """The batch's rows as the database takes them."""
    columns = []
    for name, prepare in readers:
        column = [getattr(row, name) for row in batch]
        if not all(type(value) in _PLAIN for value in column):
            column = [value if type(value) in _PLAIN else prepare(value) for value in column]
        columns.append(column)
    return [list(row) for row in zip(*columns, strict=True)]


def _prepared(field: "models.Field[Any, Any]", connection: Any) -> Callable[[Any], Any]:
    """The field's own preparation, remembered for days and instants, of which the same few come again."""
    known: dict[Any, Any] = {}

    def prepare(value: Any) -> Any:
        if not isinstance(value, date | datetime | UUID):
            return field.get_db_prep_save(value, connection)
        if value not in known:
            if len(known) >= BATCH:
                known.clear()
            known[value] = field.get_db_prep_save(value, connection)
        return known[value]

    return prepare


def _settle_parents(model: type[models.Model], batch: Sequence[models.Model]) -> None:
    """Take over the keys of parents that were saved after they were named here."""
    for field in model._meta.concrete_fields:
        if not field.is_relation:
            continue
        for row in batch:
            if getattr(row, field.attname) is None and field.is_cached(row):  # type: ignore[attr-defined]
                parent = getattr(row, field.name)
                setattr(row, field.attname, None if parent is None else parent.pk)


def _give_keys(model: type[models.Model], batch: Sequence[models.Model], connection: Any) -> None:
    key = model._meta.pk
    if not isinstance(key, models.AutoField):
        return
    keyless = [row for row in batch if row.pk is None]
    for row, value in zip(keyless, _new_keys(key, len(keyless), connection), strict=True):
        row.pk = value


def _new_keys(key: "models.Field[Any, Any]", count: int, connection: Any) -> Iterable[int]:
    """Keys that no other row has or will have."""
    table = key.model._meta.db_table
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, %s)) FROM generate_series(1, %s)",
                [connection.ops.quote_name(table), key.column, count],
            )
            return [row[0] for row in cursor.fetchall()]
        # A transaction that writes has SQLite to itself, so counting on from the highest key is safe.
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        found = cursor.fetchone()
        first = (found[0] if found else 0) + 1
        return range(first, first + count)
