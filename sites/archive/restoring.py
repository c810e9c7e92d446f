"""Putting an archive's record and files into an empty database and file store."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.recorder import MigrationRecorder

from sites import filestore, log, protection, row_statistics
from sites.archive import manifest as manifests
from sites.archive import values
from sites.archive.manifest import ArchiveFault, HeldTable, Manifest
from sites.archive.reading import Archive, opened
from sites.archive.tables import Table, tables
from sites.models import Firm

ROWS_AT_ONCE = 1000


@dataclass(frozen=True)
class Restored:
    """log_faults: what is wrong with the restored logs, a sentence each; the archive held them so"""

    manifest: Manifest
    log_faults: list[str]


def restore(path: Path, *, using: str = DEFAULT_DB_ALIAS) -> Restored:
    """Migrate an empty database and fill it from an archive, in one transaction: whole, or empty still.

    Raises: ArchiveFault with a sentence; nothing is written where the archive or the database is not fit
    """
    connection = connections[using]
    with opened(path) as archive:
        _refuse_records(connection)
        _migrate(connection)
        # Before the rows that name them; a store that holds more than the record names is whole.
        for file in archive.manifest.files:
            filestore.put(archive.content(file))
        try:
            with transaction.atomic(using=using):
                _fill(connection, archive)
        except DatabaseError as fault:
            raise ArchiveFault(
                f"The database refused the archive's rows ({str(fault).strip()}). Its record is empty still."
            ) from fault
    row_statistics.renew_once_committed(using=using)
    faults = [said for firm in Firm.objects.using(using).order_by("pk") for said in log.faults(firm)]
    return Restored(archive.manifest, faults)


def _migrate(connection: BaseDatabaseWrapper) -> None:
    call_command("migrate", database=connection.alias, interactive=False, verbosity=0)
    applied = manifests.known_to_program(MigrationRecorder(connection).applied_migrations())
    if said := manifests.difference(applied, manifests.program_migrations()):
        raise ArchiveFault(
            f"The database's tables are not those of this program ({said}). Use an empty database."
        )


def _refuse_records(connection: BaseDatabaseWrapper) -> None:
    there = set(connection.introspection.table_names())
    for table in tables():
        if table.name in there and _has_row(connection, table):
            raise ArchiveFault(
                f"The database already holds records ({table.name}). Restore goes into an empty database "
                "only: nothing was written. Choose another with DATABASE_URL or DOWNLEAD_DATA."
            )


def _has_row(connection: BaseDatabaseWrapper, table: Table) -> bool:
    with connection.cursor() as cursor:
        cursor.execute(table.any_row())
        return cursor.fetchone() is not None


def _fill(connection: BaseDatabaseWrapper, archive: Archive) -> None:
    if connection.vendor == "postgresql":
        _lock_all(connection)
    _refuse_records(connection)
    names = _numbers_of_names(connection)
    for table, held in zip(tables(), archive.manifest.tables, strict=True):
        _insert(connection, table, held, archive.rows(held), names)
    connection.check_constraints()
    _set_sequences(connection)
    for table, held in zip(tables(), archive.manifest.tables, strict=True):
        _compare_count(connection, table, held)
    protection.install(using=connection.alias)
    if absent := protection.missing(using=connection.alias):
        raise ArchiveFault(f"The database does not protect {absent[0][0]}. Its record is empty still.")


def _lock_all(connection: BaseDatabaseWrapper) -> None:
    """Nobody else writes until the transaction ends. SQLite's transactions begin with that."""
    with connection.cursor() as cursor:
        for table in tables():
            cursor.execute(f'LOCK TABLE "{table.name}" IN SHARE ROW EXCLUSIVE MODE')


def _numbers_of_names(connection: BaseDatabaseWrapper) -> values.Names:
    def query(sql: str) -> list[tuple[Any, ...]]:
        with connection.cursor() as cursor:
            cursor.execute(sql)
            return cursor.fetchall()

    return {
        kind: {name: number for number, name in known.items()} for kind, known in values.names(query).items()
    }


def _insert(
    connection: BaseDatabaseWrapper,
    table: Table,
    held: HeldTable,
    rows: Iterable[list[Any]],
    names: values.Names,
) -> None:
    turns = [values.inward(column.kind, names, connection) for column in table.columns]

    def turned() -> Iterator[list[Any]]:
        for number, row in enumerate(rows, 1):
            try:
                yield [None if value is None else turn(value) for turn, value in zip(turns, row, strict=True)]
            except (ValueError, TypeError, KeyError) as fault:
                raise ArchiveFault(
                    f"{held.member}, row {number}: {fault}. The database's record is empty still."
                ) from fault

    ready = turned()
    with connection.cursor() as cursor:
        while batch := list(islice(ready, ROWS_AT_ONCE)):
            cursor.executemany(table.insert(), batch)


def _set_sequences(connection: BaseDatabaseWrapper) -> None:
    """The next number of each table follows the highest restored. SQLite does so by itself."""
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), [table.model for table in tables()]):
            cursor.execute(sql)


def _compare_count(connection: BaseDatabaseWrapper, table: Table, held: HeldTable) -> None:
    with connection.cursor() as cursor:
        cursor.execute(table.count())
        (count,) = cursor.fetchone()
    if count != held.rows:
        raise ArchiveFault(
            f"{table.name} holds {count} rows, the archive {held.rows}. Its record is empty still."
        )
