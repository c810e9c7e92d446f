"""Whose record the database holds, and removing the demo's own: never anybody else's."""

import shutil
from pathlib import Path

from django.conf import settings
from django.core.files.storage import storages
from django.db import connection

from reports.demo import scenario, sign_ins
from reports.models import IssueFile
from sites import filestore
from sites.models import Firm, ImportedFile, Person

SQLITE_COMPANIONS = ("", "-journal", "-wal", "-shm")


class NotTheDemo(Exception):
    """The database holds a record that is not the demo's, with the sentence for whoever asked."""


def holds_demo() -> bool:
    """Whether the demo stands here. An empty database, or one without tables, does not hold it.

    Raises: NotTheDemo where the record is somebody else's
    """
    firms = _firm_names()
    if scenario.firm_name() in firms:
        return True
    if firms or _has_people():
        raise NotTheDemo(
            f"The database {_database()} holds a record that is not the demo's"
            f"{f' ({firms[0]})' if firms else ''}. Nothing was changed. "
            "Set DOWNLEAD_DATA to an empty folder, or DATABASE_URL to an empty database, for the demo."
        )
    return False


def clear() -> None:
    """Remove the demo's database and its files, so that it can be made anew.

    Raises: NotTheDemo where anything else is in it
    """
    others = [name for name in _firm_names() if name != scenario.firm_name()]
    if others:
        raise NotTheDemo(
            f"The database {_database()} holds the record of {others[0]} beside the demo. "
            "It is not removed. Nothing was changed."
        )
    if connection.vendor == "sqlite":
        database = _sqlite_file()
        _remove_files()
        connection.close()
        for ending in SQLITE_COMPANIONS:
            database.with_name(database.name + ending).unlink(missing_ok=True)
    else:
        _remove_files()
        _drop_tables()
    shutil.rmtree(sign_ins.folder(), ignore_errors=True)


def _firm_names() -> list[str]:
    if Firm._meta.db_table not in connection.introspection.table_names():
        return []
    return list(Firm.objects.order_by("pk").values_list("name", flat=True))


def _has_people() -> bool:
    return Person._meta.db_table in connection.introspection.table_names() and Person.objects.exists()


def _database() -> str:
    return str(connection.settings_dict["NAME"])


def _sqlite_file() -> Path:
    database = Path(_database()).resolve()
    if Path(settings.DATA).resolve() not in database.parents:
        raise NotTheDemo(
            f"The database {database} lies outside the data folder {settings.DATA}, so it is not removed. "
            "Nothing was changed."
        )
    return database


def _remove_files() -> None:
    """The bytes that the demo's own rows name; whatever else lies in the store stays."""
    store = storages["record"]
    for model in (ImportedFile, IssueFile):
        for sha256 in model._default_manager.values_list("sha256", flat=True):
            store.delete(filestore.name_of(sha256))


def _drop_tables() -> None:
    """Every table of the program, with the history of its migrations. Tables of others stay."""
    tables = {*connection.introspection.django_table_names(only_existing=True), "django_migrations"}
    with connection.cursor() as cursor:
        for table in sorted(tables):
            cursor.execute(f"DROP TABLE IF EXISTS {connection.ops.quote_name(table)} CASCADE")
