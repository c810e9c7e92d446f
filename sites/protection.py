"""The database's own refusal: no UPDATE, DELETE or (on PostgreSQL) TRUNCATE on tables of facts.

Triggers are installed after every migration, because SQLite silently drops them when it remakes a table.
"""

from collections.abc import Iterable
from typing import Any

from django.apps import apps
from django.db import connections

from sites.models.fact import Fact

REFUSAL = "This row is part of the record and is never changed or removed. Add a correcting row instead."

_BODY = f"""
BEGIN RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'integrity_constraint_violation'; END """
_FUNCTION = f"CREATE OR REPLACE FUNCTION downlead_keep() RETURNS trigger LANGUAGE plpgsql AS $${_BODY}$$"


def protected_tables() -> list[str]:
    """Tables of append-only facts."""
    return sorted(model._meta.db_table for model in apps.get_models() if issubclass(model, Fact))


def expected_triggers(table: str, vendor: str) -> dict[str, str]:
    """Names of the triggers a table must carry, with the statement that makes each."""
    if vendor == "sqlite":
        return {
            f"{table}_no_{act.lower()}": (
                f'CREATE TRIGGER "{table}_no_{act.lower()}" BEFORE {act} ON "{table}" '
                f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
            )
            for act in ("UPDATE", "DELETE")
        }
    name = f"{table}_keep"
    return {
        name: f'CREATE TRIGGER "{name}" BEFORE UPDATE OR DELETE OR TRUNCATE ON "{table}" '
        "FOR EACH STATEMENT EXECUTE FUNCTION downlead_keep()"
    }


def install(using: str = "default", **_: Any) -> None:
    """Put every missing or altered trigger in place. Runs after each migration."""
    connection = connections[using]
    there = _existing_tables(connection)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_FUNCTION)
        for table, name in missing(using):
            if table in there:
                _drop(cursor, connection.vendor, table, name)
                cursor.execute(expected_triggers(table, connection.vendor)[name])


def missing(using: str = "default") -> list[tuple[str, str]]:
    """(table, trigger) for each trigger that is not there, or not switched on, or not as it was made."""
    connection = connections[using]
    found = _found_triggers(connection)
    return [
        (table, name)
        for table in protected_tables()
        for name, statement in expected_triggers(table, connection.vendor).items()
        if found.get(name) not in (statement, True)
    ]


def lift(tables: Iterable[str], using: str = "default") -> None:
    """Remove the triggers of some tables. For tests that empty a database; no act of the product calls it."""
    connection = connections[using]
    with connection.cursor() as cursor:
        for table in tables:
            for name in expected_triggers(table, connection.vendor):
                _drop(cursor, connection.vendor, table, name)


def _drop(cursor: Any, vendor: str, table: str, name: str) -> None:
    on = "" if vendor == "sqlite" else f' ON "{table}"'
    cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"{on}')


def _existing_tables(connection: Any) -> set[str]:
    return set(connection.introspection.table_names())


def _found_triggers(connection: Any) -> dict[str, str | bool]:
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            return dict(cursor.fetchall())
        cursor.execute(
            "SELECT t.tgname, t.tgenabled = 'O' AND t.tgtype = 58 AND t.tgqual IS NULL AND t.tgattr = ''::int2vector "
            "AND p.proname = 'downlead_keep' AND p.prosrc = %s "
            "FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid WHERE NOT t.tgisinternal",
            [_BODY],
        )
        return dict(cursor.fetchall())
