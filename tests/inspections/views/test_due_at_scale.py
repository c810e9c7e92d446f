"""The first page for somebody who sees a whole firm runs along an index."""

import pytest
from django.db import connection

from inspections import due_list
from sites.models import Membership, Role
from tests import factories as make
from tests.inspections.views.places_record import NOON, TODAY, member

pytestmark = pytest.mark.django_db


def plans(person) -> dict[str, str]:
    held = list(Membership.objects.on(TODAY).filter(person=person).values_list("firm_id", "role"))
    rows = due_list.with_today(due_list.owed_to(person, held, on=TODAY), NOON)
    first, second = due_list.sections(rows, "", NOON)
    return {
        "overdue": due_list.dressed(first)[:51].explain(),
        "to come": due_list.dressed(second)[:51].explain(),
        "count": due_list.due_soon(rows)[: due_list.MOST_COUNTED + 1].explain(),
    }


@pytest.mark.skipif(connection.vendor != "sqlite", reason="reads SQLite's plan")
def test_it_walks_the_index_of_the_firm_without_sorting_or_scanning() -> None:
    for name, plan in plans(member(make.FirmFactory(), Role.REVIEWER)).items():
        assert "due_of_firm" in plan, (name, plan)
        assert "SCAN inspections_duedate" not in plan, (name, plan)
        assert "B-TREE FOR ORDER BY" not in plan, (name, plan)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="reads SQLite's plan")
def test_it_does_not_take_that_way_for_somebody_who_sees_one_client() -> None:
    client = make.ClientFactory()
    for plan in plans(member(client.firm, Role.AUDITOR, clients=[client])).values():
        assert "due_of_firm" not in plan


@pytest.mark.skipif(connection.vendor != "postgresql", reason="reads PostgreSQL's plan")
def test_it_walks_the_index_on_postgresql_too() -> None:
    with connection.cursor() as cursor:
        # A few rows would be scanned or sorted otherwise, and how few there seem to be hangs on what ran before.
        for way in ("seqscan", "bitmapscan", "sort", "incremental_sort"):
            cursor.execute(f"SET LOCAL enable_{way} = off")
    for name, plan in plans(member(make.FirmFactory(), Role.REVIEWER)).items():
        assert "due_of_firm" in plan, (name, plan)
