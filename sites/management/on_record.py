"""What commands share that work on a record: it must be there, and of this version of the program."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor


class RecordCommand(BaseCommand):
    """A command that reads or adds to the record in the database."""

    requires_migrations_checks = True

    def check_migrations(self) -> None:
        """Raises: CommandError where the database has no tables yet, or those of another version"""
        executor: Any = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            raise CommandError(
                "The database holds no record yet, or one as an older version of this program left it. Run “manage.py "
                "migrate”, then this again. Nothing was changed."
            )
