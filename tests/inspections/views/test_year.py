"""The year as a picture: each day once, in its family's shape, within the walls and at a constant cost."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.year_picture import Year, picture
from sites.models import Role
from tests import factories as make
from tests.inspections.views.places_record import NOON, TODAY, Record, member, owe, record

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _noon() -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def known() -> Record:
    return record()


def page(person, **told) -> str:
    client = Client()
    client.force_login(person)
    return client.get(reverse("year"), told).content.decode()


def test_it_tells_done_planned_due_and_overdue_apart(known: Record) -> None:
    html = page(member(known.firm))
    assert (
        'aria-label="done 3 May 2027; planned 8 Jun 2027; due 21 Jun 2027; overdue, was due 14 Apr 2027"'
        in html
    )
    assert "Powder store" not in html
    assert "nothing done, planned or due" in page(member(known.firm), year=2025)


def test_each_day_leads_to_its_visit_or_to_how_it_comes_about(known: Record) -> None:
    shown = page(member(known.firm)).partition('data-label="In words"')[2]
    late = known.church.due_dates.get(due=date(2027, 4, 14))
    working = reverse("due-days", args=[known.church.pk])
    assert f'overdue, was due <a href="{working}#{late.anchor}">14 Apr 2027<' in shown
    for visit in known.church.visits.filter(planned_on__year=2027):
        assert f'href="{reverse("visit", args=[visit.pk])}"' in shown


def test_each_state_has_a_shape_of_its_own() -> None:
    days = {"done": 1, "planned": 2, "due": 3, "overdue": 4}
    drawn = picture(Year(**{name: {date(2027, n, 1): []} for name, n in days.items()}), 2027, TODAY)
    assert drawn.count("<circle") == 2 and drawn.count('class="fill-order"') == 1
    assert drawn.count('class="fill-act"') == 1 and "stroke-dasharray" in drawn
    assert "stroke-dasharray" not in picture(Year(), 2026, TODAY)


def test_the_day_is_that_of_the_site_at_the_turn_of_the_year(known: Record) -> None:
    far = make.SiteFactory(client=known.client, time_zone="Pacific/Auckland")
    until = datetime(2026, 12, 31, 12, 0, tzinfo=UTC)  # the first of January there
    make.VisitFactory(
        structure__site=far, state="issued", on_site_from=until - timedelta(hours=1), on_site_until=until
    )
    assert "done 1 Jan 2027" in page(member(known.firm))


def test_it_keeps_the_walls(known: Record) -> None:
    make.SiteFactory(client__firm=known.firm, name="Next door")
    manager = member(known.firm, Role.FACILITY, clients=[known.client])
    assert "Next door" in page(member(known.firm)) and "Next door" not in page(manager)
    assert "Next door" not in page(member(known.firm), client=known.client.pk)


def test_it_costs_the_same_queries_for_one_site_as_for_many(known: Record) -> None:
    person, counts = member(known.firm), []
    client = Client()
    client.force_login(person)
    for number in (1, 20):
        for _ in range(number):
            place = make.StructureFactory(site__client=known.client)
            owe(place, 9)
            make.VisitFactory(structure=place, state="planned", on_site_from=None)
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("year"))
        counts.append(len(queries))
    assert counts[0] == counts[1]


@pytest.mark.parametrize(
    "told", [{"year": "x"}, {"year": "99999"}, {"year": "²"}, {"client": "x"}, {"client": "9" * 30}]
)
def test_an_address_that_asks_for_nonsense_shows_this_year(known: Record, told: dict) -> None:
    assert "The year 2027" in page(member(known.firm), **told)
