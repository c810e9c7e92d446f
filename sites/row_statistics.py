"""What SQLite knows of how many rows there are and how alike: by that it chooses the way to an answer.

PostgreSQL keeps this up by itself. SQLite has nobody who does: without it a list over 20,000 structures took a way on
which it did not end within a minute.
"""

from django.db import DEFAULT_DB_ALIAS, connections, transaction

# Rows looked at in each index; the figures are then estimates, made in a moment however long the table is.
LOOKED_AT = 1000


def renew(*, using: str = DEFAULT_DB_ALIAS) -> None:
    """Look anew, where the database does not do so itself. Call it after many rows came or went."""
    connection = connections[using]
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA analysis_limit = {LOOKED_AT}")
        cursor.execute("ANALYZE")


def renew_once_committed(*, using: str = DEFAULT_DB_ALIAS) -> None:
    """The same after the transaction; what was committed is not told as failed because another one holds the file."""
    transaction.on_commit(lambda: renew(using=using), using=using, robust=True)
