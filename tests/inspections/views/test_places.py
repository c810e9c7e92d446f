"""Sites, a site, a structure: who sees them, what stands there, in how many queries."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.models import Adoption, VisitState
from reports.models import Issue
from sites.models import WHOLE_FIRM_ROLES, Role
from tests import factories as make
from tests.inspections.views.places_record import NOON, TODAY, member, owe, record
from tests.inspections.views.test_due import words

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False):
        yield


def get(person, name: str, *args, **query):
    browser = Browser()
    browser.force_login(person)
    return browser.get(reverse(name, args=args), query)


def page(person, name: str, *args, **query) -> str:
    answer = get(person, name, *args, **query)
    assert answer.status_code == 200
    return answer.content.decode()


def section(html: str, heading: str) -> str:
    """The words of the section under that heading."""
    return words(html.partition(f'<h2 id="{heading}">')[2].partition("</section>")[0])


@pytest.mark.parametrize("role", Role.values)
def test_it_answers_every_role(role: str) -> None:
    known = record()
    person = member(known.firm, role, clients=() if role in WHOLE_FIRM_ROLES else [known.client])
    assert "Nether Beck" in page(person, "sites")
    assert "St Elfrida" in page(person, "site", known.site.pk)
    html = page(person, "structure", known.church.pk)
    assert ("Plan a visit" in html) is (role == Role.PLANNER)
    assert "This record is not a permit." in html


def test_it_knows_nothing_of_places_of_others() -> None:
    mine, other = record(), make.StructureFactory()
    strangers = [
        member(make.FirmFactory()),
        member(mine.firm, Role.FACILITY, clients=[other.site.client]),
        member(mine.firm, until=TODAY - timedelta(days=1)),
        member(mine.firm, Role.AUDITOR),
    ]
    for person in strangers:
        assert get(person, "site", mine.site.pk).status_code == 404
        assert get(person, "structure", mine.church.pk).status_code == 404
        assert "Nether Beck" not in page(person, "sites")
    assert get(strangers[0], "structure", 10**6).status_code == 404


def test_it_sends_strangers_to_sign_in() -> None:
    known = record()
    for name, *args in (("sites",), ("site", known.site.pk), ("structure", known.church.pk)):
        assert Browser().get(reverse(name, args=args)).status_code == 302


def test_it_lists_clients_and_sites_with_what_is_owed() -> None:
    known = record()
    quiet = make.SiteFactory(
        client=make.ClientFactory(firm=known.firm, name="Aldwick Mills"), name="Old mill"
    )
    html = page(member(known.firm), "sites")
    heads = re.findall(r'colspan="4"><a href="/clients/\d+/">([^<]+)</a>', html)
    assert heads == ["Aldwick Mills", "Parish of Three Becks"]
    first, second = (words(part) for part in html.split('class="group"')[1:])
    assert f"{quiet.name}" in first and "none overdue" in first and "nothing runs" in first
    assert re.search(r"Church Lane, Nether Beck 2 1 overdue 33 days overdue 14 Apr 2027", second)
    assert "Old mill" not in page(member(known.firm), "sites", text="three becks")
    assert "No site matches this text" in page(member(known.firm), "sites", text="zzz")


def test_it_counts_neither_suspended_nor_ended_obligations_of_a_site() -> None:
    site = make.SiteFactory()
    owe(make.StructureFactory(site=site), -9, suspended=True)
    owe(make.StructureFactory(site=site), -9, applies_until=TODAY - timedelta(days=1))
    owe(make.StructureFactory(site=site), -3, grace=3)
    owe(make.StructureFactory(site=site), -5, applies_until=TODAY)
    shown = words(page(member(site.client.firm), "sites").partition("<tbody")[2])
    assert "4 1 overdue 5 days overdue" in shown


def test_it_lists_structures_the_earliest_due_first() -> None:
    known = record()
    bare = make.StructureFactory(site=known.site, name="Bare shed", protection_class="none")
    html = page(member(known.firm), "site", known.site.pk)
    names = re.findall(r'<th scope="row"[^>]*><a href="[^"]+">([^<]+)</a>', html)
    assert names == ["St Elfrida", "Bare shed", "Powder store"]
    rows = [words(row) for row in html.split('<tr role="row"')[2:]]
    assert "parish church · class III 33 days overdue 14 Apr 2027 Complete Fettlebridge Mutual" in rows[0]
    assert re.search(r"3 May 2027 visit \d+, complete 5", rows[0])
    assert "no protection class No obligation recorded nothing asked no visit yet 0" in rows[1]
    assert bare.name in rows[1]
    assert "suspended 3 May 2027 Complete" in rows[2]


def test_it_tells_whose_rules_stand_on_a_structure_and_which_governs() -> None:
    known = record()
    html = page(member(known.firm), "structure", known.church.pk)
    shown = section(html, "rules")
    assert shown.index("Fettlebridge Mutual") < shown.index("Gorsewick, our own advice")
    assert "policy conditions, 2027 adopted 1 Jan 2020" in shown
    assert shown.count("governs: the earliest") == 1
    assert "14 Apr 2027 governs: the earliest 33 days overdue 12 months after 14 Apr 2026." in shown
    assert "due in 35 days" in shown and "due in 800 days" in shown and "of 5 points" in shown
    note = words(html.partition('<div class="note is-act">')[2].partition("</div>")[0])
    assert "33 days overdue Complete inspection, due 14 Apr 2027 , the earliest of 3 obligations ." in note
    assert "obligations . 12 months after 14 Apr 2026. How the due days come about" in note


def test_it_says_why_nothing_runs_on_a_structure() -> None:
    known = record()
    suspended = page(member(known.firm), "structure", known.store.pk)
    assert "Nothing runs on this structure now. Out of use since 1 Feb 2027." in words(suspended)
    bare = make.StructureFactory(site=known.site)
    html = page(member(known.firm), "structure", bare.pk)
    for sentence in (
        "No obligation recorded",
        "No test point is recorded on this structure",
        "No visit yet",
        "No rule applies to this structure",
        "not known",
    ):
        assert sentence in html


def test_months_of_the_earth_are_shown_where_there_is_an_earth() -> None:
    known = record()
    person, bare = member(known.firm), make.StructureFactory(site=known.site)
    make.TestPointFactory(structure=bare, quantity="bond")
    heading = "Months in which the earth was measured"
    assert heading not in page(person, "structure", bare.pk)
    make.TestPointFactory(structure=bare, quantity="earth")
    assert heading in page(person, "structure", bare.pk)


def test_it_names_a_rule_whose_adoption_ends() -> None:
    known = record()
    rule = known.church.due_dates.get(governs=True).rule
    Adoption.objects.create(
        interval=rule, adopted_from=date(2024, 3, 1), adopted_until=date(2027, 12, 31), recorded_at=NOON
    )
    assert "adopted 1 Mar 2024 to 31 Dec 2027" in section(
        page(member(known.firm), "structure", known.church.pk), "rules"
    )


def test_it_shows_points_in_natural_order_with_reading_or_reason() -> None:
    known = record()
    shown = section(page(member(known.firm), "structure", known.church.pk), "points")
    rows = re.findall(
        r"(\d+A?) north-east corner, 1 m above ground continuity (.*?) (?:3 May 2027|never)", shown
    )
    assert [number for number, _ in rows] == ["1", "2", "10", "11", "12A"]
    said = dict(rows)
    assert "5.00" in said["1"] and "within limit" in said["1"]
    assert "31.2" in said["2"] and "above limit" in said["2"]
    assert "OL" in said["10"] and "cannot be judged The display showed no number." in said["10"]
    assert said["11"] == "not read not accessible scaffold needed overdue"
    assert said["12A"] == "not read nothing entered yet overdue"


def test_it_shows_the_latest_entry_that_stands() -> None:
    known = record()
    point = known.church.points.get(number="1")
    first = point.readings.get()
    later = make.VisitFactory(structure=known.church)
    at = datetime(2027, 5, 10, 9, 0, tzinfo=UTC)
    wrong = make.ReadingFactory(visit=later, point=point, text="77.7", at=at)
    make.ReadingFactory(
        visit=later, point=point, text="7.77", at=at, replaces=wrong, correction="decimal point"
    )
    person = member(known.firm)
    shown = section(page(person, "structure", known.church.pk), "points")
    assert "7.77" in shown and "77.7" not in shown and "no verdict" in shown
    make.NoReadingFactory(visit=later, point=point, reason="not found", at=at + timedelta(hours=1))
    shown = section(page(person, "structure", known.church.pk), "points")
    assert "not found" in shown and "7.77" not in shown
    assert first.text not in shown.partition(" 2 north")[0]


def test_it_lists_retired_points_last_and_leaves_out_those_still_to_come() -> None:
    known = record()
    make.TestPointFactory(structure=known.church, number="90", retired_on=TODAY)
    make.TestPointFactory(structure=known.church, number="91", retired_on=TODAY + timedelta(days=1))
    make.TestPointFactory(structure=known.church, number="92", since=TODAY + timedelta(days=1))
    html = page(member(known.firm), "structure", known.church.pk)
    shown = section(html, "points")
    assert " 91 " in shown and " 92 " not in shown
    assert shown.index(" 91 ") < shown.index(" 90 ") and "retired on 17 May 2027" in shown
    assert "6 test points" in words(html)


def test_it_shows_a_hundred_points_a_page() -> None:
    barn = make.StructureFactory()
    part = make.PartFactory(system=make.SystemFactory(structure=barn))
    for number in range(1, 151):
        make.TestPointFactory(structure=barn, part=part, number=str(number))
    person = member(barn.site.client.firm)
    first = page(person, "structure", barn.pk)
    second = page(person, "structure", barn.pk, **{"points-page": 2})
    numbers = [re.findall(r'<th scope="row"[^>]*><a[^>]*>(\d+)</a>', html) for html in (first, second)]
    assert numbers == [[str(n) for n in range(1, 101)], [str(n) for n in range(101, 151)]]


def test_it_tells_which_defects_stand_until_they_are_settled() -> None:
    known = record()
    shown = section(page(member(known.firm), "structure", known.church.pk), "defects")
    assert (
        "clamp loose and corroded roof, west parapet, point 2 open soon before the next inspection" in shown
    )
    later = make.VisitFactory(structure=known.church, on_site_until=datetime(2027, 5, 12, 15, 0, tzinfo=UTC))
    defect = known.church.defects.get()
    make.DefectStepFactory(defect=defect, kind="withdrawn", words="recorded twice")
    shown = section(page(member(known.firm), "structure", known.church.pk), "defects")
    assert "clamp" not in shown and f"None stands open. The last visit was visit {later.number}" in shown


def test_it_hangs_the_visits_on_the_lead() -> None:
    known = record()
    visit = known.church.visits.get(state=VisitState.ISSUED)
    issue = Issue.objects.create(
        firm=known.firm, visit=visit, number=41, issued_at=NOON, authorised_by=make.PersonFactory(),
        paper="A4", facts="{}", facts_sha256="0" * 64, recorded_at=NOON,
    )  # fmt: skip
    make.VisitFactory(structure=known.church, kind="visual", planned_on=date(2026, 5, 1), number=900,
                      on_site_from=datetime(2026, 5, 1, 8, tzinfo=UTC))  # fmt: skip
    html = page(member(known.firm), "structure", known.church.pk)
    shown = section(html, "history")
    planned, done, visual = shown.split("Visit ")[1:]
    assert "8 Jun 2027 Planned; nothing is recorded yet" in planned
    assert (
        "complete, 3 May 2027 3 of 5 points read Parts were not recorded one by one Issued · report 41, issue 1"
        in done
    )
    assert f'href="{reverse("report", args=[issue.pk])}"' in html
    assert "No points are read at this kind of visit" in visual


def test_it_counts_points_as_they_stood_on_the_day_of_each_visit() -> None:
    known = record()
    visit = known.church.visits.get(state=VisitState.ISSUED)
    make.TestPointFactory(structure=known.church, number="70", since=date(2027, 5, 4))
    make.TestPointFactory(structure=known.church, number="71", retired_on=date(2027, 5, 3))
    late = make.TestPointFactory(structure=known.church, number="72", retired_on=date(2027, 5, 4))
    person = member(known.firm)
    assert "3 of 6 points read" in section(page(person, "structure", known.church.pk), "history")
    # A visit of limited extent asks for the listed points only, and readings beside the list do not count.
    make.VisitPointFactory(visit=visit, point=late)
    make.VisitPointFactory(visit=visit, point=known.church.points.get(number="1"))
    assert "1 of 2 points read" in section(page(person, "structure", known.church.pk), "history")


def test_it_takes_the_day_of_a_visit_from_the_sites_own_clock() -> None:
    site = make.SiteFactory(time_zone="Pacific/Auckland")
    place = make.StructureFactory(site=site)
    make.VisitFactory(structure=place, on_site_until=datetime(2027, 5, 3, 12, 30, tzinfo=UTC))
    assert "4 May 2027" in section(page(member(site.client.firm), "structure", place.pk), "history")


def test_it_pages_through_a_long_history() -> None:
    place = make.StructureFactory()
    for number in range(23):
        make.VisitFactory(
            structure=place, number=number + 500, planned_on=date(2020, 1, 1) + timedelta(number)
        )
    person = member(place.site.client.firm)
    seen = []
    for number in (1, 2, 3):
        html = page(person, "structure", place.pk, visits=number)
        seen += [int(n) for n in re.findall(r">Visit (\d+)</a>", html)]
        assert ("Older visits" in html) is (number < 3)
        assert ("Newer visits" in html) is (number > 1)
    assert seen == list(range(522, 499, -1))
    assert "No visit is this old" in page(person, "structure", place.pk, visits=9)


def test_it_keeps_when_it_was_so_apart_from_when_it_was_recorded() -> None:
    known = record()
    manager = member(known.firm, Role.FACILITY, clients=[known.client])
    shown = section(page(manager, "structure", known.church.pk), "happened")
    assert "Lightning strike tower struck, seen by the verger 1 Feb 2027 4 Jan 2027 the caretaker" in shown
    stopped = section(page(member(known.firm), "structure", known.store.pk), "happened")
    assert "Out of use inspected before it returns to use 1 Feb 2027 , until further notice" in stopped


def test_it_offers_the_open_visit_first_and_planning_to_planners() -> None:
    known = record()
    planner = page(member(known.firm), "structure", known.church.pk)
    assert planner.count("btn-primary") == 1
    assert "Open visit of 8 Jun 2027" in planner and "Plan a visit" in planner
    reader = page(member(known.firm, Role.QUALITY), "structure", known.church.pk)
    assert "Open visit of 8 Jun 2027" in reader and "Plan a visit" not in reader


def test_it_escapes_names() -> None:
    client = make.ClientFactory(name="<script>client</script>")
    site = make.SiteFactory(client=client, name="<script>site</script>", address="<script>address</script>")
    place = make.StructureFactory(site=site, name="<script>name</script>", use="<script>use</script>")
    owe(place, -1, author="<script>author</script>", why="<script>why</script>")
    make.SystemFactory(structure=place, name="<script>system</script>")
    point = make.TestPointFactory(structure=place, number="<b>1</b>", place="<script>place</script>")
    make.NoReadingFactory(visit__structure=place, point=point, words="<script>words</script>")
    make.EventFactory(structure=place, words="<script>event</script>", reported_by="<script>by</script>")
    visit = make.VisitFactory(structure=place, on_site_until=datetime(2027, 5, 9, tzinfo=UTC))
    make.DefectFactory(visit=visit, words="<script>defect</script>", place="<script>where</script>")
    person = member(client.firm)
    for name, *args in (("sites",), ("site", site.pk), ("structure", place.pk)):
        html = page(person, name, *args)
        assert "<script>" not in html and "<b>1</b>" not in html
        assert "&lt;script&gt;site" in html


def queries(person, name: str, *args) -> int:
    browser = Browser()
    browser.force_login(person)
    with CaptureQueriesContext(connection) as caught:
        assert browser.get(reverse(name, args=args)).status_code == 200
    return len(caught)


def test_it_takes_the_same_queries_for_one_row_and_for_many() -> None:
    known = record()
    person = member(known.firm)
    addresses = [("sites",), ("site", known.site.pk), ("structure", known.church.pk)]
    before = [queries(person, *address) for address in addresses]
    assert max(before) <= 54, before
    visit = known.church.visits.get(state=VisitState.ISSUED)
    part = known.church.parts.first()
    for number in range(30):
        site = make.SiteFactory(client=make.ClientFactory(firm=known.firm))
        more = make.StructureFactory(site=known.site)
        for place in (more, make.StructureFactory(site=site), known.church):
            owe(place, number - 9, governs=place != known.church)
        make.VisitFactory(structure=more, on_site_until=datetime(2027, 5, 9, tzinfo=UTC))
        make.VisitFactory(structure=known.church, planned_on=date(2026, 1, 1))
        point = make.TestPointFactory(structure=known.church, part=part, number=f"9{number}")
        make.VerdictFactory(reading=make.ReadingFactory(visit=visit, point=point))
        make.EventFactory(structure=known.church)
        make.DefectFactory(visit=visit, point=point)
    assert [queries(person, *address) for address in addresses] == before


def test_what_is_overdue_is_never_hidden_by_an_earlier_day_that_is_in_grace() -> None:
    """The insurer's day is the earliest, with 60 days of grace; the licence gives none and is overdue."""
    known = record()
    vestry = make.StructureFactory(site=known.site, name="Vestry")
    owe(vestry, -10, grace=60, author="A Patient Insurer")
    owe(vestry, -4, governs=False, author="A Strict Licence")
    owe(vestry, -6, governs=False, author="A Stricter Licence")
    person = member(known.firm)
    html = page(person, "structure", vestry.pk)
    note = words(html.partition('<div class="note is-act">')[2].partition("</div>")[0])
    assert note.strip().startswith("6 days overdue") and "asked for by A Stricter Licence" in note
    assert "The earliest due day is 7 May 2027 , asked for by A Patient Insurer: in grace until" in note
    listed = page(person, "site", known.site.pk)
    row = next(words(row) for row in listed.split('<tr role="row"') if "Vestry" in row)
    assert "6 days overdue 11 May 2027 Complete A Stricter Licence" in row
    steps = words(page(person, "due").partition('<ol class="next"')[2].partition("</ol>")[0])
    assert "6 days overdue Vestry" in steps and "in grace" not in steps.partition("Vestry")[0][-40:]
