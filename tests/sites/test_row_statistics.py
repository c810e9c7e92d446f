"""SQLite is told how many rows there are, by whoever brings or takes many; PostgreSQL looks by itself."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection

from sites import row_statistics
from sites.models import Firm, TestPoint
from tests import factories as make
from tests.sites.imports.test_register_import import SECOND, csv_of, take
from tests.sqlite_statistics import pretended, told

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL keeps its statistics by itself"),
]


@pytest.fixture(autouse=True)
def _none_yet(db):
    with pretended():
        yield


def test_a_file_taken_over_renews_them_once_it_is_committed(django_capture_on_commit_callbacks) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        take(csv_of({}, SECOND))
        assert told() == {}
    found = told()
    assert (found["register_testpoint"], found["register_client"]) == (2, 1)


def test_each_night_renews_them() -> None:
    make.TestPointFactory.create_batch(3)
    call_command("refresh_due", stdout=StringIO())
    assert told()["register_testpoint"] == TestPoint.objects.count() == 3


def test_only_some_rows_of_each_index_are_looked_at() -> None:
    """The figure is then an estimate, and is made at once however long the table is."""
    Firm.objects.bulk_create(
        Firm(name=f"Firm {number}", recorded_at=make.AT) for number in range(3 * row_statistics.LOOKED_AT)
    )
    row_statistics.renew()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA analysis_limit")
        assert cursor.fetchone() == (row_statistics.LOOKED_AT,)
    assert told()["register_firm"] > row_statistics.LOOKED_AT
