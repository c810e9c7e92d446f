"""The first page for somebody who sees a whole firm runs along an index, also where no statistics were ever made."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import product
from zoneinfo import ZoneInfo

import pytest
from django.db import connection

from inspections import due_list, portfolio
from inspections.models import DueDate
from sites.models import Membership, Role
from tests import factories as make
from tests.inspections.views.places_record import NOON, TODAY, member
from tests.sqlite_statistics import pretended

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _no_statistics(db: None) -> Iterator[None]:
    if connection.vendor != "sqlite":
        yield
        return
    with pretended():
        yield


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


@pytest.mark.skipif(connection.vendor != "sqlite", reason="reads SQLite's plan")
def test_buildings_ask_for_what_is_owed_structure_by_structure() -> None:
    """By the firm's index each would walk all of the firm's obligations: minutes, where there are thousands."""
    firm = make.FirmFactory()
    held = [(firm.pk, Role.PLANNER)]
    structures = portfolio.seen_by(make.PersonFactory(), held, on=TODAY)
    shown = portfolio.Portfolio(structures, NOON)
    asked = [
        *shown.sections("")[1:],
        shown.all_overdue(),
        *shown.sections("soon"),
        *shown.sections("stopped"),
    ]
    for rows in asked:
        plan = rows.explain()
        assert "due_of_firm" not in plan, plan
        assert "structure_id" in plan, plan


@pytest.mark.skipif(connection.vendor != "postgresql", reason="reads PostgreSQL's plan")
def test_it_walks_the_index_on_postgresql_too() -> None:
    with connection.cursor() as cursor:
        # A few rows would be scanned or sorted otherwise, and how few there seem to be hangs on what ran before.
        for way in ("seqscan", "bitmapscan", "sort", "incremental_sort"):
            cursor.execute(f"SET LOCAL enable_{way} = off")
    for name, plan in plans(member(make.FirmFactory(), Role.REVIEWER)).items():
        assert "due_of_firm" in plan, (name, plan)


def test_what_is_asked_about_today_is_asked_by_each_sites_own_day() -> None:
    """Three dates at once, and every day near them: the lists ask few rows for their zone, and miss none."""
    at = datetime(2027, 5, 17, 10, 30, tzinfo=UTC)
    client = make.ClientFactory()
    near = [TODAY + timedelta(days=days) for days in (-2, -1, 0, 1, 2)]
    expected: dict[str, set[int]] = {"overdue": set(), "to come": set(), "soon": set(), "stopped": set()}
    for zone in ("Pacific/Kiritimati", "Europe/London", "Pacific/Pago_Pago"):
        place = make.StructureFactory(site__client=client, site__time_zone=zone)
        today = at.astimezone(ZoneInfo(zone)).date()
        common = {
            "structure": place,
            "site": place.site,
            "client": client,
            "firm": client.firm,
            "author": "x",
        }
        for day, ends in product(near, (None, *near)):
            for due in (day, day + timedelta(days=60)):
                days = {"due": due, "grace_until": due, "applies_until": ends}
                row = DueDate.objects.create(demand="visual", why="x", **common, **days)
                if ends is not None and ends < today:
                    expected["stopped"].add(row.pk)
                elif due < today:
                    expected["overdue"].add(row.pk)
                else:
                    expected["to come"].add(row.pk)
                    if due <= today + timedelta(days=60):
                        expected["soon"].add(row.pk)
    rows = due_list.with_today(DueDate.objects.filter(firm=client.firm), at)
    found = {
        "overdue": due_list.overdue(rows, at),
        "to come": due_list.to_come(rows),
        "soon": due_list.due_soon(rows),
        "stopped": due_list.stopped(rows),
    }
    assert {name: set(some.values_list("pk", flat=True)) for name, some in found.items()} == expected
    assert all(expected.values())
