"""How each due day comes about: the page, and whoever leads to it."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse

from inspections.actions import due
from inspections.models import DueDate, EventKind
from sites.models import Role
from tests import factories as make
from tests import story as told
from tests.inspections.views.places_record import member

pytestmark = pytest.mark.django_db
LAST_YEAR, THIS_YEAR = datetime(2026, 5, 4, 8, 0, tzinfo=UTC), datetime(2027, 5, 3, 8, 0, tzinfo=UTC)
NOW = datetime(2027, 5, 25, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def story() -> told.Story:
    """All three points read a year ago; this year the third was not accessible."""
    story = told.begin()
    for begun, texts in ((LAST_YEAR, ("5.00", "6.00", "7.00")), (THIS_YEAR, ("5.00", "6.00"))):
        told.field_complete(story, texts, begun)
    due.refresh([story.structure.pk], at=NOW)
    return story


def opened(person, name: str, *args) -> str:
    browser = Browser()
    browser.force_login(person)
    answer = browser.get(reverse(name, args=args))
    assert answer.status_code == 200
    return answer.content.decode()


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\xa0", " ")


def section(html: str, anchor: str) -> str:
    return html.partition(f'id="{anchor}"')[2].partition("</section>")[0]


def test_a_point_left_out_is_counted_from_the_visit_before_and_both_visits_are_a_press_away(story) -> None:
    left = DueDate.objects.get(structure=story.structure, points=1)
    first, second = story.structure.visits.order_by("pk")
    html = section(opened(story.planner, "due-days", story.structure.pk), left.anchor)
    said = words(html)
    assert "4 May 2026 + 12 months = 4 May 2027." in said
    assert "25 May 2027 − 4 May 2027 = 21 days: overdue, the first overdue day was 5 May 2027." in said
    assert "1 of 3 test points" in said and f'href="{reverse("point", args=[story.points[2].pk])}"' in html
    assert re.search(
        rf'href="{reverse("visit", args=[first.pk])}">Visit {first.number}</a>, complete, 4 May 2026 met',
        html,
    )
    assert f'href="{reverse("visit", args=[second.pk])}"' in html
    assert f'href="{reverse("rule", args=["interval", left.rule_id])}"' in html


def test_its_bar_begins_where_it_is_counted_from_not_at_the_visit_that_left_it_out(story) -> None:
    html = opened(story.planner, "structure", story.structure.pk)
    assert 'aria-label="from 4 May 2026 to 4 May 2027, governs"' in html
    assert 'aria-label="from 3 May 2027 to 3 May 2028"' in html


def test_an_event_tells_its_days_and_who_allowed_them(story) -> None:
    event = make.EventFactory(
        structure=story.structure, kind=EventKind.STRIKE, on=date(2027, 5, 10), inspect_within_days=7,
        reported_by="the verger", days_by="Common practice", recorded_at=NOW,
    )  # fmt: skip
    due.refresh([story.structure.pk], at=NOW)
    said = words(opened(story.planner, "due-days", story.structure.pk))
    assert (
        "Lightning strike on 10 May 2027: a complete inspection within 7 days. Reported by the verger."
        in said
    )
    assert "10 May 2027 + 7 days = 17 May 2027." in said and "Common practice" in said
    assert DueDate.objects.get(event=event).anchor == f"event-{event.pk}-2027-05-17"


def test_what_does_not_come_out_again_says_so_and_keeps_its_reason(story) -> None:
    stale = make.DueDateFactory(
        structure=story.structure, rule=None, due=date(2027, 6, 1), why="Counted from elsewhere."
    )
    said = words(section(opened(story.planner, "due-days", story.structure.pk), stale.anchor))
    assert "does not come out any more" in said and "Counted from elsewhere." in said


def test_every_list_leads_to_the_working_for_the_one_who_answers_for_the_building(story) -> None:
    manager = member(story.firm, Role.FACILITY, clients=[story.structure.site.client])
    address = reverse("due-days", args=[story.structure.pk])
    left = DueDate.objects.get(structure=story.structure, points=1)
    for name, *args in (
        ("due",), ("buildings",), ("sites",), ("site", story.structure.site_id), ("structure", story.structure.pk),
    ):  # fmt: skip
        assert f'href="{address}#{left.anchor}"' in opened(manager, name, *args), name
    assert f'id="{left.anchor}"' in opened(manager, "due-days", story.structure.pk)


def test_while_out_of_use_it_says_by_whose_authority_nothing_is_counted(story) -> None:
    make.SuspensionFactory(
        structure=story.structure,
        since=date(2027, 5, 1),
        authority="letter 9",
        recorded_at=THIS_YEAR - timedelta(9),
    )
    due.refresh([story.structure.pk], at=NOW)
    said = words(opened(story.planner, "due-days", story.structure.pk))
    assert "would have been due 4 May 2027" in said
    assert "Out of use from 1 May 2027, until further notice" in said and "letter 9" in said
