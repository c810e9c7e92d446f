"""Among very many readings few correct another; what looks for them must not walk the whole table."""

from collections.abc import Iterator
from datetime import UTC

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import Reading
from inspections.visit_entries import page_of_entries
from tests import story as told
from tests.sqlite_statistics import pretended

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(connection.vendor != "sqlite", reason="reads SQLite's plan"),
]
MANY = 1_000_000


def among_very_many() -> Iterator[tuple[str, str, str]]:
    """What would be found among a million readings of which none corrects another."""
    for table in ("inspections_reading", "inspections_noreading"):
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND tbl_name = %s", [table]
            )
            indexes = cursor.fetchall()
        for name, sql in indexes:
            if "WHERE" in (sql or ""):
                continue  # an empty index has no statistics
            alike = 12 if "visit" in name or "point" in name else MANY
            both = " 1" if name == "reading_history" else ""
            yield table, name, f"{MANY} {alike}{both}"


@pytest.fixture
def statistics() -> Iterator[None]:
    with pretended(list(among_very_many())):
        yield


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
