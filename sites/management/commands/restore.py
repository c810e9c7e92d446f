"""``manage.py restore FILE``: an archive back into an empty database, of either kind."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from sites import archive


class Command(BaseCommand):
    help = (
        "Check the archive FILE that “backup” made, then put it into the empty database and the file store."
    )
    requires_system_checks = []  # a fault in a page must not stand in the way of the record

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        path = file.absolute()
        try:
            restored = archive.restore(path)
        except archive.ArchiveFault as fault:
            raise CommandError(str(fault)) from fault
        except (OSError, DatabaseError) as fault:
            raise CommandError(f"The archive was not restored: {fault}") from fault
        manifest = restored.manifest
        self.stdout.write(
            f"{manifest.rows} rows and {len(manifest.files)} files restored, as of {manifest.made_at}. "
            "Rows counted, references checked, hashes right."
        )
        if restored.log_faults:
            raise CommandError(
                "\n".join([*restored.log_faults, "The log is not whole; the archive held it so."])
            )
        self.stdout.write("Every log chain is whole. Everybody has to sign in again.")
