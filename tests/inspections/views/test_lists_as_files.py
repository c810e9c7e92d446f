"""The lists of the record as files: the rows and the filters of the page, typed, behind the same walls."""

import csv
import io
from datetime import UTC, date, datetime

import openpyxl
import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.models import VisitState
from sites.exports import rows as exported
from sites.models import Role
from tests import factories as make
from tests.inspections.views.places_record import NOON, member, owe, record

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False):
        yield


def get(person, address, **query):
    browser = Browser()
    browser.force_login(person)
    return browser.get(address, query)


def as_csv(person, address, *, field="as", **query) -> list[dict[str, str]]:
    answer = get(person, address, **query, **{field: "csv"})
    assert answer.status_code == 200
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def as_sheet(person, address, *, field="as", **query):
    answer = get(person, address, **query, **{field: "xlsx"})
    assert answer.status_code == 200
    sheet = openpyxl.load_workbook(io.BytesIO(b"".join(answer.streaming_content))).worksheets[0]
    heads, *rows = list(sheet.iter_rows())
    return [dict(zip((head.value for head in heads), row, strict=True)) for row in rows]


def test_what_is_due_has_days_as_days_and_keeps_the_filters() -> None:
    told = record()
    person = member(told.firm)
    first, *_ = as_sheet(person, reverse("due"))
    assert first["Due"].value.date() == date(2027, 4, 14)
    assert (first["Structure"].value, first["Site"].value) == ("St Elfrida", "Nether Beck")
    assert first["State"].value == "overdue"
    assert first["In words"].value == "33 days overdue"
    assert first["Overdue since"].value.date() == date(2027, 4, 15)
    assert [row["Overdue since"] for row in as_csv(person, reverse("due"), state="soon")] == [""]
    assert [row["Demand"] for row in as_csv(person, reverse("due"), demand="visual")] == ["visual"]
    assert as_csv(person, reverse("due"), text="Elsewhere") == []


def test_sites_and_structures_have_their_figures_with_units_in_the_head() -> None:
    told = record()
    person = member(told.firm)
    (site,) = as_sheet(person, reverse("sites"))
    assert (site["Client"].value, site["Obligations overdue"].value) == ("Parish of Three Becks", 1)
    church, store = as_sheet(person, reverse("site", args=[told.site.pk]))
    assert (church["Roof perimeter [m]"].value, church["Roof perimeter [m]"].number_format) == (118.5, "0.0")
    assert church["Last visit"].value.date() == date(2027, 5, 3)
    assert store["Height [m]"].value is None


def test_points_have_the_number_the_display_and_the_ohms() -> None:
    told = record()
    address = reverse("structure", args=[told.church.pk])
    rows = {row["Point"]: row for row in as_csv(member(told.firm), address, field="points-as")}
    assert list(rows) == ["1", "2", "10", "11", "12A"]
    above = rows["2"]
    assert [above[head] for head in ("Last reading", "Unit", "Last reading [Ω]", "Verdict", "Day")] == [
        "31.2", "mΩ", "0.0312", "above limit", "2027-05-03",
    ]  # fmt: skip
    assert (rows["10"]["Last reading"], rows["10"]["As displayed"]) == ("", "OL")
    assert rows["10"]["Cannot be judged because"] == "The display showed no number."
    assert (rows["11"]["Not read because"], rows["11"]["What stood in the way"]) == (
        "not accessible", "scaffold needed",
    )  # fmt: skip
    assert rows["12A"]["Last reading"] == rows["12A"]["Verdict"] == rows["12A"]["Day"] == ""


def test_a_point_has_every_reading_and_reason_not_only_the_page() -> None:
    firm = make.FirmFactory()
    structure = make.StructureFactory(site__client__firm=firm)
    point = make.TestPointFactory(structure=structure)
    visit = make.VisitFactory(structure=structure)
    for number in range(30):
        at = datetime(2027, 5, 3, 9, number, tzinfo=UTC)
        make.VerdictFactory(
            reading=make.ReadingFactory(visit=visit, point=point, at=at, text=f"-0.{number:02}")
        )
    make.NoReadingFactory(visit=visit, point=point, words="=SUM(1)")
    rows = as_csv(member(firm), reverse("point", args=[point.pk]))
    assert len(rows) == 31
    assert [row["Displayed"] for row in rows[:3]] == ["", "-0.29", "-0.28"]
    assert rows[0]["What stood in the way"] == "'=SUM(1)"
    assert (rows[1]["Corrected [Ω]"], rows[1]["Temperature [°C]"]) == ("0.0050000", "20")
    sheet = as_sheet(member(firm), reverse("point", args=[point.pk]))
    assert (sheet[0]["What stood in the way"].value, sheet[0]["What stood in the way"].data_type) == (
        "=SUM(1)", "s",
    )  # fmt: skip


def test_visits_are_those_of_the_state_and_in_the_order_chosen() -> None:
    told = record()
    person = member(told.firm)
    rows = as_csv(person, reverse("visits"), state=VisitState.PLANNED)
    assert [(row["Planned for"], row["On site on"]) for row in rows] == [("2027-06-08", "")]
    days = [row["Planned for"] for row in as_csv(person, reverse("visits"), sort="planned_on")]
    assert days == ["2027-05-03", "2027-06-08"]


def test_buildings_and_rules_are_files_too() -> None:
    told = record()
    person = member(told.firm)
    church, *_ = as_sheet(person, reverse("buildings"))
    assert (church["Building"].value, church["Client"].value) == ("St Elfrida", "Parish of Three Becks")
    assert church["Next due"].value.date() == date(2027, 4, 14)
    assert (church["Open defects"].value, church["Gravest"].value) == (1, "clamp loose and corroded")
    make.AdoptionFactory(interval=make.IntervalRuleFactory(firm=told.firm, title="=1+1", code="trap"))
    rows = {row["Code"]: row for row in as_csv(person, reverse("rules"))}
    assert (rows["trap"]["Rule"], rows["trap"]["Adopted from"]) == ("'=1+1", "2020-01-01")


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_file_stops_at_the_walls_of_its_list(kind) -> None:
    told = record()
    other = member(make.FirmFactory())
    for name, pk in (("site", told.site.pk), ("structure", told.church.pk)):
        field = "points-as" if name == "structure" else "as"
        assert get(other, reverse(name, args=[pk]), **{field: kind}).status_code == 404
    for name in ("due", "visits", "sites", "reports"):
        assert as_csv(other, reverse(name)) == []
    assert Browser().get(reverse("due"), {"as": kind}).status_code == 302


def test_a_facility_manager_has_only_what_is_within_reach() -> None:
    told = record()
    elsewhere = make.StructureFactory(site__client__firm=told.firm, name="Elsewhere")
    owe(elsewhere, 5)
    person = member(told.firm, Role.FACILITY, clients=[told.client])
    assert {row["Structure"] for row in as_csv(person, reverse("due"))} == {"St Elfrida"}
    assert len(as_csv(person, reverse("sites"))) == 1


@pytest.mark.parametrize("name", ["due", "visits", "sites"])
def test_a_batch_costs_the_same_queries_with_one_row_and_with_many(name, monkeypatch) -> None:
    firm = make.FirmFactory()
    person = member(firm)

    def grow(number: int) -> None:
        for _ in range(number):
            structure = make.StructureFactory(site__client__firm=firm)
            owe(structure, 5)
            visit = make.VisitFactory(structure=structure)
            make.VisitPersonFactory(visit=visit)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as found:
            assert as_csv(person, reverse(name))
        return len(found)

    grow(1)
    one = queries()
    grow(8)
    assert queries() == one
    assert exported.BATCH == 500


def test_a_list_offers_its_files_below_and_an_empty_one_does_not() -> None:
    told = record()
    html = get(member(told.firm), reverse("visits"), state="planned").content.decode()
    assert 'href="?state=planned&amp;as=csv" download' in html
    assert (
        "The whole list as a file" not in get(member(make.FirmFactory()), reverse("visits")).content.decode()
    )
