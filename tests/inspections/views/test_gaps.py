"""What is still to be completed, and answering for it that nothing is required."""

from datetime import UTC, date, datetime

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.models import NoneRequired
from sites.models import Role, Structure
from tests import factories as f
from tests import story as told
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 5, 10, 12, 0, tzinfo=UTC)
WHY = "a timber shelter without a system, by the owner’s risk assessment"


@pytest.fixture(autouse=True)
def _frozen():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def story() -> told.Story:
    """One structure with an obligation, points 1 and 2 of three read; a shelter nobody asks about, without a class."""
    story = told.begin()
    told.field_complete(story, ("5.00", "6.00"))
    f.StructureFactory(site=story.structure.site, name="Shelter", protection_class="none")
    return story


def as_(person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def listed(person, name: str = "obligation") -> str:
    response = as_(person).get(reverse("gaps"), {"list": name})
    assert response.status_code == 200
    return response.content.decode()


def shelter() -> Structure:
    return Structure.objects.get(name="Shelter")


def test_a_structure_that_no_rule_asks_about_is_listed_with_what_to_do(story) -> None:
    text = listed(story.planner)
    assert "Shelter" in text and story.structure.name not in text
    assert f"/rules/interval/new/?structure={shelter().pk}" in text
    assert "none-required" not in text
    assert "none-required" in listed(story.signatory)


def test_an_ended_rule_leaves_it_without_an_obligation(story) -> None:
    story.structure.due_dates.update(applies_until=date(2027, 5, 9))
    assert story.structure.name in listed(story.planner)


def test_the_rule_form_begins_with_the_structure(story) -> None:
    text = as_(story.planner).get(reverse("rule-propose", args=["interval"]), {"structure": shelter().pk})
    assert 'value="Shelter"' in text.content.decode()


def test_points_never_read_lead_to_a_visit(story) -> None:
    text = listed(story.planner, "points")
    assert f'href="{reverse("point", args=[story.points[2].pk])}"' in text
    assert f'href="{reverse("point", args=[story.points[0].pk])}"' not in text
    assert reverse("plan-visit", args=[story.structure.pk]) in text
    assert reverse("plan-visit", args=[story.structure.pk]) not in listed(story.reviewer, "points")


def test_a_retired_point_is_not_to_be_read(story) -> None:
    point = story.points[2]
    point.retired_on = date(2027, 5, 10)
    point.save(update_fields=["retired_on"])
    assert "Nothing is missing here" in listed(story.planner, "points")


def test_structures_without_a_class_are_listed(story) -> None:
    text = listed(story.planner, "class")
    assert "Shelter" in text and story.structure.name not in text


def test_another_firms_gaps_are_not_there(story) -> None:
    f.StructureFactory(name="Elsewhere", protection_class="none")
    assert all("Elsewhere" not in listed(story.planner, name) for name in ("obligation", "points", "class"))


def test_recorded_that_none_is_required_it_leaves_the_list_and_its_page_says_why(story) -> None:
    client = as_(story.signatory)
    url = reverse("none-required", args=[shelter().pk])
    assert client.post(url, {"since": "2027-05-01", "words": WHY}).status_code == 302
    assert "Shelter" not in listed(story.planner)
    page = client.get(reverse("structure", args=[shelter().pk])).content.decode()
    assert WHY in page and str(story.signatory) in page
    client.post(url, {"words": "a mast was set up"})
    assert "Shelter" in listed(story.planner)
    assert NoneRequired.objects.count() == 2


def test_sent_twice_it_is_not_taken_back(story) -> None:
    client = as_(story.signatory)
    url = reverse("none-required", args=[shelter().pk])
    sent = {"since": "2027-05-01", "words": WHY, "act": "record"}
    assert 'name="act" value="record"' in client.get(url).content.decode()
    assert client.post(url, sent).status_code == 302
    again = client.post(url, sent)
    assert again.status_code == 422 and "That is on record already." in again.content.decode()
    assert 'name="act" value="take back"' in client.get(url).content.decode()
    back = {"words": "a mast was set up", "act": "take back"}
    assert client.post(url, back).status_code == 302
    again = client.post(url, back)
    assert again.status_code == 422 and "Nothing on record says" in again.content.decode()
    assert NoneRequired.objects.count() == 2


def test_want_of_money_is_no_reason_and_what_was_typed_stays(story) -> None:
    client = as_(story.signatory)
    client.get(reverse("gaps"))
    with nothing_saved():
        response = client.post(
            reverse("none-required", args=[shelter().pk]), {"since": "2027-05-01", "words": "no money"}
        )
    assert response.status_code == 422
    assert "Want of staff or money" in response.content.decode() and "no money" in response.content.decode()


@pytest.mark.parametrize("name", ["obligation", "points", "class"])
def test_each_list_costs_the_same_queries_for_one_row_and_for_many(story, name) -> None:
    counts = []
    for number in (0, 20):
        for _ in range(number):
            other = f.StructureFactory(site=story.structure.site, protection_class="none")
            f.TestPointFactory(structure=other, part=f.PartFactory(system__structure=other))
        client = as_(story.planner)
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("gaps"), {"list": name})
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_the_page_is_there_where_nothing_is_missing() -> None:
    person = f.MembershipFactory(role=Role.PLANNER).person
    assert "Nothing is missing here" in listed(person)
