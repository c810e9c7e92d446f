"""The overdue register of a past day, both ways: the page's own answer as PDF, CSV and workbook."""

import csv
import re
from datetime import UTC, date, datetime, timedelta
from io import BytesIO, StringIO

import openpyxl
import pdfplumber
import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse

from inspections.actions import due, visits
from inspections.actions.readings import record
from sites.models import Person, Role
from tests import factories as f
from tests import story as told
from tests.inspections.views.places_record import member

pytestmark = pytest.mark.django_db
VISITED = datetime(2027, 5, 3, 8, 0, tzinfo=UTC)
SHEET = datetime(2027, 5, 20, 9, 14, tzinfo=UTC)
ASKED = {"day": "2027-05-10"}


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(datetime(2027, 7, 1, 12, 0, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def story() -> told.Story:
    """Due on 18 Apr 2027; visited on 3 May, and the sheet came in on 20 May."""
    story = told.begin()
    told.field_complete(story, ("5.00",) * 3, begun=VISITED - timedelta(days=380))
    visit = visits.plan(
        story.structure, kind="complete", purpose="periodic", planned_on=date(2027, 5, 3),
        inspectors=[story.inspector], by=story.planner, at=VISITED - timedelta(days=20),
    )  # fmt: skip
    visits.start(visit, arrived_at=VISITED, by=story.inspector, at=SHEET)
    visits.note_conditions(visit, visits.Conditions(), by=story.inspector, at=SHEET)
    entries = [told.entry(story, point, "5.00", VISITED) for point in story.points]
    record(visit, entries, by=story.inspector, at=SHEET)
    told.see_parts(visit, story.inspector, SHEET)
    visits.complete_field_work(visit, left_at=VISITED + timedelta(hours=3), by=story.inspector, at=SHEET)
    return story


@pytest.fixture
def auditor(story) -> Person:
    return member(story.firm, Role.AUDITOR, clients=[story.structure.site.client])


def fetched(person: Person, name: str = "overdue-register-then", **asked: str):
    browser = Browser()
    browser.force_login(person)
    return browser.get(reverse(name), {**ASKED, **asked})


def printed(person: Person, **asked: str) -> str:
    answer = fetched(person, **asked)
    assert answer["Content-Type"] == "application/pdf"
    with pdfplumber.open(BytesIO(answer.content)) as paper:
        return "\n".join(page.extract_text() for page in paper.pages).replace("\N{NO-BREAK SPACE}", " ")


def rows_of(person: Person, **asked: str) -> list[dict[str, str]]:
    content = b"".join(fetched(person, **asked, **{"as": "csv"}).streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(StringIO(content)))


def test_as_known_it_was_overdue_and_as_it_was_it_was_not(auditor) -> None:
    known = printed(auditor, view="known")
    for said in (
        "1 inspection overdue", "22 days overdue", "19 Apr 2027", "10 May 2027",
        "only what had been recorded by the end of 10 May 2027",
    ):  # fmt: skip
        assert said in known, said
    was = printed(auditor, view="was")
    assert "Nothing is overdue" in was and "every fact about that day that was on record on 1 Jul 2027" in was


def test_a_later_day_known_by_is_printed_beside_the_day(auditor) -> None:
    said = printed(auditor, view="known", known="2027-05-21")
    assert "10 May 2027" in said and "by the end of 21 May 2027" in said and "Nothing is overdue" in said


@pytest.mark.parametrize("view", ["was", "known"])
def test_its_fingerprint_is_the_pages(auditor, view: str) -> None:
    page = fetched(auditor, "past-day").content.decode()
    told = dict(zip(("was", "known"), re.findall(r"\b[0-9a-f]{64}\b", page), strict=False))
    assert told[view] in printed(auditor, view=view).replace("\n", "")


def test_a_row_of_the_file_stands_for_itself(auditor) -> None:
    (row,) = rows_of(auditor, view="known")
    assert (
        row["Overdue since"] == "2027-04-19"
        and row["On the day"] == "2027-05-10"
        and row["Due"] == "2027-04-18"
    )
    assert (
        row["Rests on"].endswith("by the end of 10 May 2027 at each site")
        and len(row["Answer, SHA-256"]) == 64
    )
    assert rows_of(auditor, view="was") == []


def test_the_workbook_has_days_as_days(auditor) -> None:
    content = b"".join(fetched(auditor, view="known", **{"as": "xlsx"}).streaming_content)
    sheet = openpyxl.load_workbook(BytesIO(content)).worksheets[0]
    heads, values = ([cell.value for cell in row] for row in list(sheet.iter_rows())[:2])
    row = dict(zip(heads, values, strict=True))
    assert row["Due"].date() == date(2027, 4, 18) and row["On the day"].date() == date(2027, 5, 10)


def test_it_keeps_the_walls_of_the_page(story, auditor) -> None:
    other = f.StructureFactory(site__client__firm=story.firm, name="Next door", site__name="Elsewhere")
    f.AdoptionFactory(interval=f.IntervalRuleFactory(firm=story.firm, structure=other, months=1))
    due.refresh([other.pk], at=datetime.now(UTC))
    assert [row["Structure"] for row in rows_of(auditor, view="known")] == ["Wieża Łódź"]
    inspector = f.MembershipFactory(firm=story.firm, role=Role.INSPECTOR).person
    assert fetched(inspector, view="known").status_code == 403


def test_nothing_is_made_of_a_misspelt_name(auditor) -> None:
    answer = fetched(auditor, dya="2027-03-01")
    assert "does not know “dya”" in answer.content.decode()
    assert not answer["Content-Type"].startswith("application/pdf")


def test_a_day_to_come_is_refused_in_words(auditor) -> None:
    answer = fetched(auditor, day="2030-01-01")
    assert answer.status_code == 422 and b"Choose a day" in answer.content


def test_the_same_question_gives_the_same_bytes(auditor) -> None:
    first = fetched(auditor, view="known").content
    with time_machine.travel(datetime(2027, 9, 1, 9, 0, tzinfo=UTC), tick=False):
        assert fetched(auditor, view="known").content == first


def test_the_page_offers_all_six_files_and_the_buildings_lead_to_the_page(story, auditor) -> None:
    page = fetched(auditor, "past-day", known="2027-05-20").content.decode()
    links = re.findall(r'href="([^"]*overdue-register[^"]*)"', page)
    assert len(links) == 6 and all("day=2027-05-10&amp;known=2027-05-20" in link for link in links)
    buildings = fetched(
        story.planner, "buildings", client=str(story.structure.site.client.pk)
    ).content.decode()
    assert f"/past-day/?client={story.structure.site.client.pk}" in buildings
