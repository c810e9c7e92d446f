"""The record as it stood at one instant, read while others go on writing."""

import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper

from sites.archive.manifest import ArchiveFault

ROWS_AT_ONCE = 2000
LONGEST_WAIT_S = 120.0

Query = Callable[[str], Iterator[tuple[Any, ...]]]


@contextmanager
def taken(connection: BaseDatabaseWrapper, beside: Path) -> Iterator[Query]:
    """A function that runs a query on the snapshot and streams its rows as the database's driver gives them.

    beside: a path next to which SQLite's copy may lie until the end; it takes as much room as the database
    """
    kind = _of_sqlite if connection.vendor == "sqlite" else _of_postgresql
    with kind(connection, beside) as query:
        yield query


@contextmanager
def _of_sqlite(connection: BaseDatabaseWrapper, beside: Path) -> Iterator[Query]:
    folder = beside.with_name(f"{beside.name}.snapshot")
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(mode=0o700)
    try:
        with closing(sqlite3.connect(folder / "copy.sqlite3", isolation_level=None)) as copy:
            copy.execute("PRAGMA journal_mode=OFF")
            copy.execute("PRAGMA synchronous=OFF")
            _copy_all(connection, copy)
            yield lambda sql: _streamed(copy.execute(sql))
    except sqlite3.Error as fault:
        raise ArchiveFault(f"The database cannot be read whole ({fault}). No backup was made.") from fault
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _copy_all(connection: BaseDatabaseWrapper, copy: sqlite3.Connection) -> None:
    """All pages in one step: steps in between would start again with every commit and might never end.

    Without a write-ahead log, writers wait out the step within their own busy timeout.
    """
    told = connection.get_connection_params()
    wait_s = told.get("timeout", 20)
    give_up = time.monotonic() + max(LONGEST_WAIT_S, wait_s)

    def watch(status: int, remaining: int, total: int) -> None:
        if remaining and time.monotonic() > give_up:
            raise ArchiveFault(
                "The database stayed locked by another program. No backup was made. Try again."
            )

    source = sqlite3.connect(
        told["database"], timeout=wait_s, uri=bool(told.get("uri")), isolation_level=None
    )
    with closing(source):
        source.backup(copy, pages=-1, progress=watch)


@contextmanager
def _of_postgresql(connection: BaseDatabaseWrapper, beside: Path) -> Iterator[Query]:
    """One read-only transaction in which every query sees the same instant, read by server-side cursors."""
    own = connection.copy(alias="archive")
    own.connect()
    try:
        own.set_autocommit(False)
        with own.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")

        def query(sql: str) -> Iterator[tuple[Any, ...]]:
            with own.chunked_cursor() as cursor:
                cursor.execute(sql)
                yield from _streamed(cursor)

        yield query
        own.rollback()
    finally:
        own.close()


def _streamed(cursor: Any) -> Iterator[tuple[Any, ...]]:
    while rows := cursor.fetchmany(ROWS_AT_ONCE):
        yield from rows
