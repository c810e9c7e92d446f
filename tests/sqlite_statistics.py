"""SQLite's statistics as a test wants them, whatever an earlier test left behind."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from django.db import connection


def told() -> dict[str, int]:
    """Rows of each table, as the statistics have them; a table that held none is not told."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT tbl, MAX(CAST(stat AS INTEGER)) FROM sqlite_stat1 GROUP BY tbl")
        return dict(cursor.fetchall())


@contextmanager
def pretended(rows: Iterable[tuple[str, str, str]] = ()) -> Iterator[None]:
    """Nothing but these rows of ``sqlite_stat1`` while the block runs, and nothing after it."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # makes the table where there is none
        _only(cursor, rows)
        yield
        _only(cursor, ())


def _only(cursor: object, rows: Iterable[tuple[str, str, str]]) -> None:
    cursor.execute("DELETE FROM sqlite_stat1")  # type: ignore[attr-defined]
    for row in rows:
        cursor.execute("INSERT INTO sqlite_stat1 VALUES (%s, %s, %s)", row)  # type: ignore[attr-defined]
    cursor.execute("ANALYZE sqlite_schema")  # type: ignore[attr-defined]
