"""Counting everything, to show that an act left nothing behind."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.apps import apps
from django.core.files.storage import storages


def everything() -> dict[str, int]:
    """Rows of every table, and files in the store."""
    counts = {model._meta.db_table: model._default_manager.count() for model in apps.get_models()}
    store = Path(storages["record"].path(""))
    return {**counts, "files": sum(1 for one in store.rglob("*") if one.is_file())}


@contextmanager
def nothing_saved() -> Iterator[None]:
    """Asserts that there is as much of everything afterwards as before."""
    before = everything()
    yield
    assert everything() == before
