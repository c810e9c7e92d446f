"""Among very many readings few correct another; what looks for them must not walk the whole table."""

from collections.abc import Iterator
from datetime import UTC

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import Reading
from inspections.visit_entries import page_of_entries
from tests import story as told

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(connection.vendor != "sqlite", reason="reads SQLite's plan"),
]
MANY = 1_000_000


@pytest.fixture
def statistics() -> Iterator[None]:
    """What ANALYZE would have found among a million readings of which none corrects another."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
        cursor.execute("DELETE FROM sqlite_stat1")
        for table in ("inspections_reading", "inspections_noreading"):
            cursor.execute(
                "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND tbl_name = %s", [table]
            )
            for name, sql in cursor.fetchall():
                if "WHERE" in (sql or ""):
                    continue  # an empty index has no statistics
                alike = 12 if "visit" in name or "point" in name else MANY
                both = " 1" if name == "reading_history" else ""
                cursor.execute(
                    "INSERT INTO sqlite_stat1 VALUES (%s, %s, %s)", [table, name, f"{MANY} {alike}{both}"]
                )
        cursor.execute("ANALYZE sqlite_schema")
        yield
        cursor.execute("DELETE FROM sqlite_stat1")
        cursor.execute("ANALYZE sqlite_schema")


def test_what_corrects_a_reading_is_looked_up(statistics: None) -> None:
    story = told.begin()
    visit = told.field_complete(story, ("5.00", "6.00", "7.00"))
    with CaptureQueriesContext(connection) as asked:
        page_of_entries(visit, UTC, 0, 50)
        list(Reading.objects.standing().filter(visit=visit))
    with connection.cursor() as cursor:
        for query in asked:
            cursor.execute(f"EXPLAIN QUERY PLAN {query['sql']}")
            steps = [step[3] for step in cursor.fetchall()]
            assert not [step for step in steps if step.startswith("SCAN")], (query["sql"], steps)
