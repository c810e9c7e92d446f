"""The page of a point: what it is, its limit, its picture and everything that was read there."""

import html as markup
import re
from datetime import date, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.actions import readings
from inspections.models import Reading, Reason
from sites.models import PointNumber, Role
from sites.ordering import natural_key
from tests import factories as make
from tests.inspections.views.visit_scene import HOUR, NOW, Scene, scene

pytestmark = pytest.mark.django_db
YEAR = timedelta(days=365)


@pytest.fixture(autouse=True)
def _now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def here() -> Scene:
    return scene()


@pytest.fixture
def reviewer(here: Scene) -> Client:
    client = Client()
    client.force_login(here.people[Role.REVIEWER])
    return client


def page(client: Client, here: Scene, number: str = "10", **asked: Any) -> str:
    answer = client.get(reverse("point", args=[here.points[number].pk]), asked)
    assert answer.status_code == 200
    return answer.content.decode()


def rows_of(html: str) -> list[str]:
    table = html[html.index('id="history"') :]
    return re.findall(r'<tr role="row" class="(?:even|odd)".*?</tr>', table, re.DOTALL)


def test_a_point_never_read_says_so(here: Scene, reviewer: Client) -> None:
    html = page(reviewer, here)
    assert "Nothing read here yet" in html and '<svg class="figure"' not in html
    assert str(here.points["10"].identity) in html


def test_it_tells_its_number_and_earlier_ones_with_their_days(here: Scene, reviewer: Client) -> None:
    PointNumber.objects.create(
        point=here.points["10"],
        number="10B",
        number_order=natural_key("10B"),
        since=date(2026, 2, 1),
        recorded_at=NOW,
    )
    html = page(reviewer, here)
    numbers = re.findall(r'<span class="d-block">(\w+) since <time[^>]*datetime="([\d-]+)"', html)
    assert numbers == [("10B", "2026-02-01"), ("10", "2020-01-01")]


def test_it_tells_the_part_and_the_limit_in_force_with_its_source(here: Scene, reviewer: Client) -> None:
    html = page(reviewer, here)
    for words in (
        "copper",
        "15\u00a0m",
        "75\u00a0mm²",
        "our own advice; edition 2027",
        "common practice",
        "Check against your adopted edition.",
    ):
        assert words in html
    assert (
        html.count("heck against your adopted edition") == 2
    )  # beside the limit, and in the foot of every page


def test_a_kind_of_point_without_limit_is_for_information(here: Scene, reviewer: Client) -> None:
    here.points["10"].quantity = "earth"
    here.points["10"].save()
    assert "No limit is adopted for this kind of point" in page(reviewer, here)


def test_history_runs_newest_first_and_holds_the_visits_without_reading(
    here: Scene, reviewer: Client
) -> None:
    first = here.issued(at=NOW - 2 * YEAR).visit
    second = here.on_site(at=NOW - YEAR)
    here.reason(second, "10", Reason.NOT_ACCESSIBLE, "scaffold & <ladder>", at=NOW - YEAR + HOUR)
    third = here.on_site()
    here.read(third, {"10": "5.40"})
    html = page(reviewer, here)
    rows = rows_of(html)
    assert [re.findall(r'href="/visits/(\d+)/"', row)[0] for row in rows] == [
        str(v.pk) for v in (third, second, first)
    ]
    assert "not accessible" in rows[1] and markup.escape("scaffold & <ladder>") in rows[1]
    assert "baseline" in rows[2] and "baseline" not in rows[0]
    assert "risen\u00a08.0\u00a0%" in rows[0]
    assert "<desc" in html and "Not read at 1 visit." in html
    assert 'href="#m-noaccess"' in html


def test_a_corrected_reading_shows_what_it_replaced(here: Scene, reviewer: Client) -> None:
    visit = here.on_site()
    here.read(visit, {"10": "50.0"}, unit="µΩ")
    wrong = Reading.objects.get()
    readings.correct(
        wrong, here.entry("10", "5.00", wrong.at), reason="unit <slip>", by=here.people[Role.REVIEWER], at=NOW
    )
    html = page(reviewer, here)
    assert len(rows_of(html)) == 1
    assert "Replaces 50.0\u00a0µΩ: unit &lt;slip&gt;" in html


def test_it_shows_displays_that_are_no_number(here: Scene, reviewer: Client) -> None:
    visit = here.on_site()
    here.read(visit, {"10": "OL", "2": "<0.01", "3": "--"})
    assert "no value" in page(reviewer, here)
    assert "&lt;0.01" in page(reviewer, here, "2")
    assert page(reviewer, here, "3")


def test_times_are_the_sites_own(here: Scene, reviewer: Client) -> None:
    here.site.time_zone = "Pacific/Auckland"
    here.site.save()
    here.read(here.on_site(), {"10": "5.00"})
    assert "3 May 2027, 22:00" in page(reviewer, here)  # 10:00 UTC in New Zealand's winter


def test_it_pages_and_asks_the_same_of_the_database_for_one_row_and_a_hundred(
    here: Scene, reviewer: Client
) -> None:
    here.read(here.on_site(at=NOW - 2 * YEAR), {"10": "5.00"}, at=NOW - 2 * YEAR)
    page(reviewer, here)
    with CaptureQueriesContext(
        connection,
    ) as one:
        page(reviewer, here)
    visit = make.VisitFactory(structure=here.structure, number=500)
    for index in range(100):
        reading = make.ReadingFactory(
            visit=visit,
            point=here.points["10"],
            instrument=here.instrument,
            range=here.range,
            at=NOW - index * HOUR,
        )
        make.VerdictFactory(reading=reading, baseline=Reading.objects.order_by("pk").first())
    with CaptureQueriesContext(connection) as hundred:
        html = page(reviewer, here)
    assert len(hundred) == len(one)
    assert len(rows_of(html)) == 25 and "Page 1 of 5" in html
    assert len(rows_of(page(reviewer, here, page="5"))) == 1
    assert "Page 5 of 5" in page(reviewer, here, page="99")
