"""Commands that work on a record say what to do where there is none."""

from importlib import import_module
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management.base import BaseCommand

from sites.management.on_record import RecordCommand
from tests.sites.own_databases import on_sqlite

# These need no record, take one as it is, or make one.
WITHOUT = {"working", "dates", "calculate", "validate", "backup", "restore", "demo"}


def commands() -> dict[str, type[BaseCommand]]:
    modules = (
        ".".join(path.relative_to(settings.BASE_DIR).with_suffix("").parts)
        for path in Path(settings.BASE_DIR).glob("*/management/commands/*.py")
        if path.stem != "__init__"
    )
    return {name.rpartition(".")[2]: import_module(name).Command for name in modules}


def test_every_command_that_needs_a_record_asks_for_one() -> None:
    found = commands()
    assert found.keys() >= WITHOUT
    asking = {name for name, command in found.items() if issubclass(command, RecordCommand)}
    assert asking == found.keys() - WITHOUT


@pytest.mark.either_database
@pytest.mark.parametrize("name", ["check_records", "refresh_due"])
def test_without_a_record_it_says_what_to_do(tmp_path: Path, name: str) -> None:
    done = on_sqlite(tmp_path / "empty").manage(name)
    assert done.returncode == 1
    assert "manage.py migrate" in done.stderr
    assert "Traceback" not in done.stderr
