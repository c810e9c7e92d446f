"""Every entry of a visit: originals beside their corrections, withdrawals with their reason, late entries marked."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from sites.models import ImportWithdrawal, Role
from tests import factories as f
from tests import story as told
from tests.inspections.views.places_record import member

pytestmark = pytest.mark.django_db
AT = told.ON_SITE + timedelta(hours=1)


@pytest.fixture
def story() -> told.Story:
    return told.begin()


def page(person, visit) -> str:
    browser = Browser()
    browser.force_login(person)
    answer = browser.get(reverse("visit-entries", args=[visit.pk]))
    assert answer.status_code == 200
    html = answer.content.decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace("\xa0", " ")


def test_a_correction_stands_beside_the_original_with_who_and_why(story) -> None:
    visit = told.on_site(story)
    point = story.points[0]
    given = {"visit": visit, "point": point, "range": story.range, "instrument": story.range.instrument}
    first = f.ReadingFactory(text="5.00", by=story.inspector, at=AT, recorded_at=AT, **given)
    f.ReadingFactory(
        text="50.0", by=story.reviewer, at=AT, recorded_at=AT + timedelta(days=2), replaces=first,
        correction="misread by a factor of ten", **given,
    )  # fmt: skip
    said = page(member(story.firm, Role.AUDITOR, clients=[story.structure.site.client]), visit)
    assert f"corrected to 50.0 mΩ four-wire {story.reviewer.name}" in said
    assert "misread by a factor of ten" in said
    assert "5 May 2027, 10:00 later" in said
    assert "counts; a correction" in said


def test_a_withdrawn_import_says_by_whom_and_why(story) -> None:
    visit = told.on_site(story)
    file = f.ImportedFileFactory(firm=story.firm, name="monday.csv")
    f.NoReadingFactory(visit=visit, point=story.points[1], file=file, at=AT, recorded_at=AT)
    ImportWithdrawal.objects.create(
        file=file, reason="wrong structure", by=story.inspector, recorded_at=AT + timedelta(hours=1)
    )
    said = page(story.planner, visit)
    assert "not accessible scaffold needed" in said
    assert "with monday.csv" in said
    assert f"withdrawn with its import {story.inspector.name}" in said
    assert "wrong structure" in said


def test_one_entry_and_a_hundred_cost_the_same_number_of_queries(story) -> None:
    visit = told.on_site(story)
    given = {"visit": visit, "range": story.range, "instrument": story.range.instrument}

    def add(number: int) -> None:
        point = f.TestPointFactory(structure=story.structure, number=f"x{number}")
        first = f.ReadingFactory(point=point, **given)
        f.ReadingFactory(point=point, replaces=first, correction="why", **given)
        f.NoReadingFactory(visit=visit, point=point, file=f.ImportedFileFactory(firm=story.firm))

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            page(story.planner, visit)
        return len(caught)

    add(0)
    queries()
    few = queries()
    for number in range(1, 40):
        add(number)
    assert queries() == few


def test_nothing_entered_yet_says_so(story) -> None:
    assert "Nothing was entered at this visit" in page(story.planner, told.on_site(story))
