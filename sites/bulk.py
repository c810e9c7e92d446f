"""Inserting many rows of one table at the speed of the database rather than of the row compiler."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from itertools import islice
from typing import Any, TypeVar
from uuid import UUID

from django.db import connections, models, router, transaction

from sites.fields import ExactDecimalField

BATCH = 2000
_PLAIN = frozenset((str, int, bool, type(None)))
_Row = TypeVar("_Row", bound=models.Model)
_Item = TypeVar("_Item")


def insert(model: type[_Row], rows: Iterable[_Row]) -> int:
    """Insert unsaved rows in their order and give each its key, as ``bulk_create`` does, several times as fast.

    Call it inside a transaction. Columns that the database generates are not read back.
    Returns: how many rows there were
    """
    table = _Table(model)
    count = 0
    for batch in _batches(rows):
        _settle_parents(model, batch)
        table.give_keys(batch)
        table.insert([[getattr(row, name) for row in batch] for name in table.names])
        for row in batch:
            row._state.adding, row._state.db = False, table.using
        count += len(batch)
    return count


def insert_values(model: type[models.Model], rows: Iterable[Mapping[str, Any]]) -> int:
    """Insert rows that nobody needs as objects: a value for each stored column, by its name (``firm_id``).

    Call it inside a transaction. The key is among the values.
    Returns: how many rows there were
    """
    table = _Table(model)
    count = 0
    for batch in _batches(rows):
        table.insert([[row[name] for row in batch] for name in table.names])
        count += len(batch)
    return count


class _Table:
    """Where the rows go, and how each column's values are made ready."""

    def __init__(self, model: type[models.Model]) -> None:
        self.using = router.db_for_write(model)
        self._connection = connections[self.using]
        if not self._connection.in_atomic_block:
            raise transaction.TransactionManagementError(
                "Many rows are inserted in the transaction of one act."
            )
        self._key = model._meta.pk
        fields = [one for one in model._meta.concrete_fields if not one.generated]
        self.names = [one.attname for one in fields]
        self._prepare = [(_plain(one), _prepared(one, self._connection)) for one in fields]
        quoted = self._connection.ops.quote_name
        columns = ", ".join(quoted(str(one.column)) for one in fields)
        marks = ", ".join(["%s"] * len(fields))
        into = f"{quoted(model._meta.db_table)} ({columns})"
        self._insert = f"INSERT INTO {into} VALUES ({marks})"  # noqa: S608 - names of our own models
        self._copy = f"COPY {into} FROM STDIN"

    def insert(self, columns: list[list[Any]]) -> None:
        """Insert a batch, given column by column."""
        ready = [
            column
            if plain.issuperset(map(type, column))
            else [value if type(value) in plain else prepare(value) for value in column]
            for column, (plain, prepare) in zip(columns, self._prepare, strict=True)
        ]
        rows = zip(*ready, strict=True)
        with self._connection.cursor() as cursor:
            if self._connection.vendor == "postgresql":
                with cursor.copy(self._copy) as copy:
                    for row in rows:
                        copy.write_row(row)
            else:
                cursor.executemany(self._insert, list(rows))

    def give_keys(self, batch: Sequence[models.Model]) -> None:
        """A key to each row without one."""
        if not isinstance(self._key, models.AutoField):
            return
        keyless = [row for row in batch if row.pk is None]
        for row, value in zip(keyless, _new_keys(self._key, len(keyless), self._connection), strict=True):
            row.pk = value


def _batches(rows: Iterable[_Item]) -> Iterator[list[_Item]]:
    remaining = iter(rows)
    while batch := list(islice(remaining, BATCH)):
        yield batch


def _plain(field: "models.Field[Any, Any]") -> frozenset[object]:
    """Kinds of values that go in as they are."""
    return frozenset((type(None),)) if isinstance(field, ExactDecimalField) else _PLAIN


def _prepared(field: "models.Field[Any, Any]", connection: Any) -> Callable[[Any], Any]:
    """The field's own preparation; its usual answer is given at once for exact decimals, and remembered for days
    and instants, of which the same few come again."""
    known: dict[Any, Any] = {}

    def once(value: Any) -> Any:
        if not isinstance(value, date | datetime | UUID):
            return field.get_db_prep_save(value, connection)
        if value not in known:
            if len(known) >= BATCH:
                known.clear()
            known[value] = field.get_db_prep_save(value, connection)
        return known[value]

    def exact(value: Any) -> Any:
        if type(value) is Decimal and value.is_finite():
            return format(value, "f")
        return field.get_db_prep_save(value, connection)

    return exact if isinstance(field, ExactDecimalField) else once


def _settle_parents(model: type[models.Model], batch: Sequence[models.Model]) -> None:
    """Take over the keys of parents that were saved after they were named here."""
    for field in model._meta.concrete_fields:
        if not field.is_relation:
            continue
        name, key = field.name, field.attname
        for row in batch:
            if row.__dict__[key] is None and (parent := row._state.fields_cache.get(name)) is not None:
                setattr(row, key, parent.pk)


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
