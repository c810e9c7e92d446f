"""What ``manage.py check --deploy`` says about the database in force."""

from typing import Any

from django.conf import settings
from django.core import checks
from django.db import connection


def database_in_force(**_: Any) -> list[checks.CheckMessage]:
    """Names the database, and for SQLite how it is kept from losing commits."""
    if connection.vendor != "sqlite":
        return [checks.Info(f"The record lies in {connection.vendor}.", id="downlead.I001")]
    mode = (
        "a write-ahead log (this SQLite version carries no reset race)"
        if settings.SQLITE_WAL_IS_SAFE
        else "a rollback journal (this SQLite version can lose commits with a write-ahead log)"
    )
    return [checks.Info(f"The record lies in SQLite with {mode}, synchronous FULL.", id="downlead.I001")]
