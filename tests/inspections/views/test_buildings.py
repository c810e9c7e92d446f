"""The portfolio: which building comes first, what each row says, who may open it, in how many queries."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections import portfolio
from inspections.models import Urgency, VisitState
from reports.models import Issue, IssueFile, IssueWithdrawal
from sites.models import Person, Role, Structure, VisitKind
from tests import factories as make
from tests.inspections.views.places_record import NOON, TODAY, Record, member, owe, record

pytestmark = pytest.mark.django_db
ENDED = datetime(2027, 5, 3, 15, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def known() -> Record:
    known = record()
    Urgency.objects.update(rank=3)
    return known


def manager(known: Record) -> Person:
    return member(known.firm, Role.FACILITY, clients=[known.client])


def answer(person: Person, **query):
    browser = Browser()
    browser.force_login(person)
    return browser.get(reverse("buildings"), query)


def page(person: Person, **query) -> str:
    got = answer(person, **query)
    assert got.status_code == 200
    return got.content.decode()


def words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html)).replace(" ,", ",")


def buildings(html: str) -> list[str]:
    return re.findall(r'<th scope="row" role="rowheader"[^>]*><a href="[^"]+">([^<]+)</a>', html)


def row_of(html: str, name: str) -> str:
    rows = html.split('<tr role="row"')
    return next(row for row in rows if f">{name}</a><span" in row)


def wrong(structure: Structure, rank: int, word: str, **more) -> None:
    visit = make.VisitFactory(structure=structure, state=VisitState.ISSUED, on_site_until=ENDED)
    scheme = make.UrgencySchemeFactory(firm=visit.firm)
    urgency = make.UrgencyFactory(scheme=scheme, rank=rank, word=word)
    make.DefectFactory(visit=visit, urgency=urgency, **more)


@pytest.mark.parametrize("few", [1000, 0], ids=["few urgent defects", "too many to name"])
def test_it_puts_urgent_defects_first_then_overdue_then_due_soon_then_the_rest_by_name(
    known: Record, few: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(portfolio, "FEW_NAMED", few)
    site = known.site
    for name, days in (("Bier house", 200), ("Almshouse", 300), ("Lychgate", 10), ("Tower", -90)):
        owe(make.StructureFactory(site=site, name=name), days)
    bell = make.StructureFactory(site=site, name="Zion bell tower")
    owe(bell, 400)
    wrong(bell, 1, "at once")
    html = page(manager(known))
    assert buildings(html) == [
        "Zion bell tower", "Tower", "St Elfrida", "Lychgate", "Almshouse", "Bier house", "Powder store"
    ]  # fmt: skip
    heads = re.findall(r'role="rowheader" colspan="5">([^<]+?) *(?:<|$)', html)
    assert heads == [
        "Open defects of the most urgent kind", "Overdue", "Due within 60 days", "The others, by name"
    ]  # fmt: skip


def test_an_obligation_without_grace_counts_though_an_earlier_one_is_still_in_grace(known: Record) -> None:
    place = make.StructureFactory(site=known.site, name="Vestry")
    owe(place, -10, grace=30)
    owe(place, -5, governs=False, author="Another Insurer")
    html = page(manager(known), state="overdue")
    assert buildings(html) == ["St Elfrida", "Vestry"]
    assert "5 days overdue" in words(row_of(html, "Vestry")).replace("\xa0", " ")


def test_each_cell_says_what_it_rests_on_and_leads_there(known: Record) -> None:
    html = row_of(page(manager(known)), "St Elfrida")
    said = words(html).replace("\xa0", " ")
    assert "33 days overdue" in said
    assert "Fettlebridge Mutual" in said
    assert "1 open" in said
    assert "clamp loose and corroded" in said
    assert "3 of 5 points read" in said
    assert "1 not accessible" in said
    assert "1 owed" in said
    assert "visit planned for 8 Jun 2027, complete" in said
    assert "none issued" in said
    defect = known.church.defects.get()
    working = reverse("due-days", args=[known.church.pk])
    assert f'href="{working}#' in html and f'href="{reverse("defect", args=[defect.pk])}"' in html
    assert Browser().get(working).status_code == 302


def test_a_later_re_test_does_not_hide_what_the_complete_visit_left_out(known: Record) -> None:
    again = make.VisitFactory(
        structure=known.church,
        kind=VisitKind.RETEST,
        state=VisitState.ISSUED,
        on_site_until=ENDED + timedelta(days=5),
    )
    point = known.church.points.get(number="11")
    make.VisitPointFactory(visit=again, point=point)
    make.ReadingFactory(visit=again, point=point)
    said = words(row_of(page(manager(known)), "St Elfrida"))
    assert "3 of 5 points read" in said
    assert "1 of 1 point read" in said
    assert f"visit {again.number}" in said


def test_a_visit_that_only_looked_does_not_hide_the_test_before_it(known: Record) -> None:
    made = {
        kind: make.VisitFactory(
            structure=known.church,
            kind=kind,
            state=VisitState.ISSUED,
            on_site_until=ENDED + timedelta(days=days),
        )
        for kind, days in ((VisitKind.ELECTRICAL, 4), (VisitKind.VISUAL, 8))
    }
    said = words(row_of(page(manager(known)), "St Elfrida"))
    first = known.church.visits.get(state=VisitState.ISSUED, kind=VisitKind.COMPLETE)
    places = [said.index(f"visit {visit.number}") for visit in (first, *made.values())]
    assert places == sorted(places) and "0 of 5 points read" in said


def test_a_visit_planned_after_the_due_day_is_told_as_too_late(known: Record) -> None:
    hall = make.StructureFactory(site=known.site, name="Hall")
    owe(hall, 20)
    make.VisitFactory(structure=hall, state="planned", planned_on=TODAY + timedelta(days=60))
    assert "overdue by then" in row_of(page(manager(known)), "Hall")


def test_a_suspended_building_says_so_and_one_without_rules_says_so(known: Record) -> None:
    gate = make.StructureFactory(site=known.site, name="Gatehouse")
    html = page(manager(known))
    assert "suspended" in words(row_of(html, "Powder store"))
    assert "No obligation recorded" in words(row_of(html, "Gatehouse"))
    browser = Browser()
    browser.force_login(manager(known))
    gatehouse = browser.get(reverse("structure", args=[gate.pk])).content.decode()
    assert reverse("rule-propose", args=["interval"]) in gatehouse
    assert "none-required" not in gatehouse  # not for a manager to say
    make.NoneRequiredFactory(structure=make.StructureFactory(site=known.site, name="Cabin"), words="on skids")
    said = words(row_of(page(manager(known)), "Cabin"))
    assert "No inspection required" in said and "No obligation recorded" not in said
    assert buildings(page(manager(known), state="stopped")) == ["Powder store"]
    assert buildings(page(manager(known), state="nothing")) == ["Cabin", "Gatehouse", "Powder store"]


def test_the_last_report_can_be_downloaded_once_its_file_is_attached(known: Record) -> None:
    visit = known.church.visits.get(state=VisitState.ISSUED)
    issue = Issue.objects.create(
        firm=known.firm, visit=visit, number=7, issued_at=ENDED, authorised_by=make.PersonFactory(), paper="A4",
        facts="{}", facts_sha256="0" * 64, recorded_at=ENDED,
    )  # fmt: skip
    html = row_of(page(manager(known)), "St Elfrida")
    assert "file being made" in words(html)
    IssueFile.objects.create(issue=issue, sha256="1" * 64, size=1, recorded_at=ENDED)
    html = row_of(page(manager(known)), "St Elfrida")
    assert reverse("report-file", args=[issue.pk]) in html


def test_a_report_that_was_withdrawn_is_offered_to_nobody_as_the_last_one(known: Record) -> None:
    visit = known.church.visits.get(state=VisitState.ISSUED)
    issue = Issue.objects.create(
        firm=known.firm, visit=visit, number=7, issued_at=ENDED, authorised_by=make.PersonFactory(), paper="A4",
        facts="{}", facts_sha256="0" * 64, recorded_at=ENDED,
    )  # fmt: skip
    IssueFile.objects.create(issue=issue, sha256="1" * 64, size=1, recorded_at=ENDED)
    person = manager(known)
    places = (reverse("structure", args=[known.church.pk]), reverse("visit", args=[visit.pk]))
    browser = Browser()
    browser.force_login(person)

    def shown() -> list[str]:
        pages = [browser.get(place).content.decode() for place in places]
        return [words(row_of(page(person), "St Elfrida")), *map(words, pages)]

    assert not any("relied on" in said or "rely on it" in said for said in shown())
    IssueWithdrawal.objects.create(
        issue=issue, reason="wrong church", by=make.PersonFactory(), recorded_at=ENDED
    )
    listed, structure, of_visit = shown()
    assert "withdrawn" in listed and "not to be relied on" in listed
    assert reverse("report-file", args=[issue.pk]) not in page(person)
    assert "report 7, issue 1, withdrawn: not to be relied on" in structure
    assert "has been withdrawn, so nobody is to rely on it" in of_visit


def test_it_is_narrowed_by_text_client_and_open_defects(known: Record) -> None:
    other = make.SiteFactory(client=make.ClientFactory(firm=known.firm), name="Elsewhere")
    make.StructureFactory(site=other, name="Mill")
    planner = member(known.firm)
    assert buildings(page(planner, text="elfr")) == ["St Elfrida"]
    assert buildings(page(planner, text="ELSEWHERE")) == ["Mill"]
    assert buildings(page(planner, client=other.client.pk)) == ["Mill"]
    assert buildings(page(planner, state="defects")) == ["St Elfrida"]
    assert "No building matches these filters" in page(planner, text="nowhere at all")


def test_nobody_sees_a_building_out_of_their_reach(known: Record) -> None:
    make.StructureFactory(
        site=make.SiteFactory(client=make.ClientFactory(firm=known.firm)), name="Not theirs"
    )
    make.StructureFactory(name="Another firm's")
    assert set(buildings(page(manager(known)))) == {"St Elfrida", "Powder store"}
    ended = member(known.firm, Role.FACILITY, clients=[known.client], until=date(2027, 5, 16))
    assert answer(ended).status_code == 403


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.AUDITOR])
def test_it_is_for_those_who_answer_for_buildings_and_for_the_office(known: Record, role: str) -> None:
    assert answer(member(known.firm, role, clients=[known.client])).status_code == 403
    assert answer(member(known.firm, Role.SIGNATORY)).status_code == 200


def test_the_list_on_top_names_urgent_defects_and_what_is_overdue(known: Record) -> None:
    bell = make.StructureFactory(site=known.site, name="Bell tower")
    wrong(bell, 1, "at once", words="strap cut through", found_at=datetime(2025, 5, 1, tzinfo=UTC))
    html = page(manager(known))
    steps = re.search(r'<ol class="next".*?</ol>', html, re.S)
    assert steps is not None
    said = words(steps.group()).replace("\xa0", " ")
    assert said.index("at once, open for 2 years") < said.index("33 days overdue")
    assert "strap cut through" in said
    assert "A visit is planned for 8 Jun 2027" in said


def test_one_row_and_a_hundred_cost_the_same_number_of_queries(known: Record) -> None:
    person = manager(known)

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            page(person)
        return len(caught)

    page(person)
    few = queries()
    for number in range(100):
        place = make.StructureFactory(site=known.site, name=f"Cottage {number}")
        owe(place, number - 50)
        wrong(place, 1 + number % 3, "soon")
    assert queries() <= few  # a part of the list that fills the page spares the question for the next


def test_two_hundred_buildings_come_page_by_page_each_once(known: Record) -> None:
    for number in range(200):
        owe(make.StructureFactory(site=known.site, name=f"Cottage {number:03}"), number - 100)
    person = manager(known)
    seen = [name for number in range(1, 6) for name in buildings(page(person, page=number))]
    assert len(seen) == len(set(seen)) == 202
    assert seen[0] == "Cottage 000"


def test_a_planned_visit_is_named_only_for_what_it_may_settle(known: Record) -> None:
    """As the list of what is due says it: a re-test settles no obligation, a later complete visit may."""
    place = make.StructureFactory(site=known.site, name="Vestry")
    owe(place, 20)
    retest = make.VisitFactory(
        structure=place, kind=VisitKind.RETEST, state=VisitState.PLANNED, planned_on=TODAY + timedelta(days=3)
    )
    said = words(row_of(page(manager(known)), "Vestry")).replace("\xa0", " ")
    assert "no visit planned for it; re-test on 20 May 2027" in said
    file = b"".join(answer(manager(known), **{"as": "csv", "text": "Vestry"}).streaming_content).decode()
    assert "2027-05-20" not in file
    make.VisitFactory(
        structure=place,
        kind=VisitKind.COMPLETE,
        state=VisitState.PLANNED,
        planned_on=TODAY + timedelta(days=9),
    )
    html = row_of(page(manager(known)), "Vestry")
    assert "visit planned for 26 May 2027, complete" in words(html).replace("\xa0", " ")
    assert reverse("visit", args=[retest.pk]) not in html


def test_of_several_defects_only_the_gravest_is_told_as_grave(known: Record) -> None:
    place = make.StructureFactory(site=known.site, name="Vestry")
    wrong(place, 1, "at once")
    assert "1 open, at once" in words(row_of(page(manager(known)), "Vestry"))
    wrong(place, 3, "to watch")
    assert "2 open, the gravest at once" in words(row_of(page(manager(known)), "Vestry"))
