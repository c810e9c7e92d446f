"""The nightly command: what it did is told as done, whatever becomes of the statistics after it."""

from pathlib import Path

import pytest

from tests.sites.own_databases import KIND, on_sqlite

# While the statistics are renewed another connection holds the file, and nobody waits long for it.
HELD = """
import sqlite3
from unittest import mock
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from sites import row_statistics
other = sqlite3.connect(settings.DATABASES["default"]["NAME"], isolation_level=None)
renew = row_statistics.renew
def held():
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 50")
    other.execute("BEGIN IMMEDIATE")
    renew()
with mock.patch.object(row_statistics, "renew", held):
    call_command("refresh_due")
"""


@pytest.mark.skipif(KIND != "sqlite", reason="PostgreSQL keeps its statistics by itself")
def test_it_tells_what_it_did_where_the_statistics_cannot_be_renewed(tmp_path: Path) -> None:
    place = on_sqlite(tmp_path / "place")
    assert place.manage("migrate", "-v", "0", "--skip-checks").returncode == 0
    done = place.manage("shell", "-v", "0", "-c", HELD)
    assert (done.returncode, done.stdout) == (0, "0 structures reckoned again.\n"), done.stderr
    assert "was not counted anew (database is locked)" in done.stderr
