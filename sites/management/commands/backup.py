"""``manage.py backup FILE``: the whole record and its files in one archive, while others go on working."""

from argparse import ArgumentParser
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from sites import archive


class Command(BaseCommand):
    help = "Write the whole record and its files to FILE, consistent while others write. “restore” reads it."
    requires_system_checks = []  # a fault in a page must not stand in the way of the record

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--overwrite", action="store_true", help="replace FILE where it is already there")

    def handle(self, *args: Any, file: Path, overwrite: bool, **options: Any) -> None:
        path = file.absolute()
        try:
            manifest = archive.write(path, at=datetime.now(UTC), overwrite=overwrite)
        except archive.ArchiveFault as fault:
            raise CommandError(str(fault)) from fault
        except (OSError, DatabaseError) as fault:
            raise CommandError(f"No backup was made: {fault}") from fault
        self.stdout.write(
            f"{path}: {manifest.rows} rows and {len(manifest.files)} files, {path.stat().st_size} bytes."
        )
        self.stdout.write(
            "It holds personal data and password hashes; only its owner can read it. Keep it so."
        )
