"""Samples that anybody can draw again: checked against the command sha256sum's own arithmetic, and in the record."""

import csv
import hashlib
import io
import json
import re
import uuid
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.actions.samples import SAMPLE_DRAWN, SampleRefused, draw_sample
from inspections.audit_sample import MOST_DRAWN, Wanted, drawn, fingerprint, identities_of, population, rank
from inspections.models import VisitState
from inspections.views.audit_sample import LINES_A_PAGE
from sites.models import LogEntry, Person, Role
from tests import factories as make
from tests.counting import nothing_saved
from tests.inspections.views.places_record import member

NOW = datetime(2027, 5, 17, 12, 0, tzinfo=UTC)
# printf 'seed 1:00000000-0000-4000-8000-00000000000N' | sha256sum, for N = 1, 2, 3
KNOWN = {
    "00000000-0000-4000-8000-000000000001": "e80136242069c861019f5b7444dd4f8cf5563d7a72b01a5027d8fdc6684a7d1b",
    "00000000-0000-4000-8000-000000000002": "5249ac8530417551fb396a0edf1e95ef76d9d589beb2279c7a747a7aa843949d",
    "00000000-0000-4000-8000-000000000003": "46bac742a07dd75b7b18583d44a167f3c4e1a5fa039358c21f90d5c96a9c0729",
}


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


def test_the_hash_is_what_another_program_works_out() -> None:
    for identity, found in KNOWN.items():
        assert rank("seed 1", identity) == found


def test_the_lowest_hashes_are_drawn_in_whatever_order_the_identities_come() -> None:
    order = sorted(KNOWN, key=KNOWN.get)
    assert drawn("seed 1", KNOWN, 2) == drawn("seed 1", reversed(list(KNOWN)), 2) == order[:2]
    assert drawn("seed 1", KNOWN, 9) == order
    assert drawn("seed 1", [], 9) == []


def test_another_seed_draws_another_sample() -> None:
    identities = [str(uuid.UUID(int=n)) for n in range(200)]
    samples = {tuple(drawn(f"seed {n}", identities, 5)) for n in range(20)}
    assert len(samples) == 20


def test_every_identity_is_drawn_about_as_often_as_any_other() -> None:
    """400 seeds, 5 of 20: 100 times each, with a standard deviation of 8.7; 4.5 of them leave room on both sides."""
    identities = [str(uuid.UUID(int=n)) for n in range(20)]
    times = dict.fromkeys(identities, 0)
    for seed in range(400):
        for identity in drawn(str(seed), identities, 5):
            times[identity] += 1
    assert all(61 <= number <= 139 for number in times.values()), times


def test_a_fingerprint_tells_populations_apart_and_not_their_order() -> None:
    assert fingerprint(["b", "a"]) == fingerprint(["a", "b"]) == hashlib.sha256(b"a\nb\n").hexdigest()
    assert fingerprint(["ab"]) != fingerprint(["a", "b"])


@pytest.fixture
def firm(db):
    return make.FirmFactory()


def ended(structure, *, day: int, kind: str = "complete"):
    until = datetime(2027, 5, day, 15, 0, tzinfo=UTC)
    return make.VisitFactory(
        structure=structure, state=VisitState.ISSUED, kind=kind, on_site_from=until - timedelta(hours=6),
        on_site_until=until,
    )  # fmt: skip


def auditor(firm, *clients) -> Person:
    return member(firm, Role.AUDITOR, clients=clients)


def of(firm, person, **more) -> set[str]:
    asked = {"of": "visits", "number": 5, "seed": "x", **more}
    return set(identities_of(population(Wanted(**asked), firm, person, at=NOW)))


def names(*rows) -> set[str]:
    return {str(row.identity) for row in rows}


def test_visits_are_those_carried_out_within_the_grant_by_client_period_and_kind(firm) -> None:
    inside, also = make.ClientFactory(firm=firm), make.ClientFactory(firm=firm)
    church = make.StructureFactory(site__client=inside)
    first, second = ended(church, day=3), ended(church, day=4, kind="visual")
    third = ended(make.StructureFactory(site__client=also), day=5)
    ended(make.StructureFactory(site__client__firm=firm), day=5)
    ended(make.StructureFactory(), day=5)
    make.VisitFactory(structure=church)
    person = auditor(firm, inside, also)
    assert of(firm, person) == names(first, second, third)
    assert of(firm, person, client=inside) == names(first, second)
    assert of(firm, person, kind="visual") == names(second)
    assert of(firm, person, since=date(2027, 5, 4), until=date(2027, 5, 4)) == names(second)
    assert len(of(firm, member(firm, Role.QUALITY))) == 4


def test_points_are_those_standing_and_in_a_period_those_read(firm) -> None:
    church = make.StructureFactory(site__client__firm=firm)
    read, unread = (
        make.TestPointFactory(structure=church),
        make.TestPointFactory(structure=church, quantity="earth"),
    )
    make.TestPointFactory(structure=church, retired_on=date(2027, 5, 1))
    visit = make.VisitFactory(structure=church)
    make.ReadingFactory(visit=visit, point=read, at=datetime(2027, 5, 3, 23, 59, tzinfo=UTC))
    person = auditor(firm, church.site.client)
    assert of(firm, person, of="points") == names(read, unread)
    assert of(firm, person, of="points", kind="earth") == names(unread)
    day = date(2027, 5, 3)
    assert of(firm, person, of="points", since=day, until=day) == names(read)
    assert of(firm, person, of="points", since=day + timedelta(days=1)) == set()


def test_a_drawing_is_logged_with_all_that_repeats_it(firm) -> None:
    church = make.StructureFactory(site__client__firm=firm)
    points = [make.TestPointFactory(structure=church) for _ in range(6)]
    person = auditor(firm, church.site.client)
    entry = draw_sample(Wanted("points", 4, "two dice"), firm=firm, by=person, at=NOW)
    told = json.loads(entry.payload)["facts"]
    identities = names(*points)
    assert (entry.action, entry.person, told["population"]) == (SAMPLE_DRAWN, person, 6)
    assert told["drawn"] == sorted(identities, key=lambda one: rank("two dice", one))[:4]
    assert told["population_sha256"] == fingerprint(identities)


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Wanted("points", 4, "x"), "Nothing fits"),
        (Wanted("points", 0, "x"), "between 1"),
        (Wanted("points", MOST_DRAWN + 1, "x"), "between 1"),
        (Wanted("points", 4, " "), "Give a seed"),
    ],
)
def test_a_drawing_that_cannot_be_is_refused(firm, wanted, said) -> None:
    person = auditor(firm)
    with nothing_saved(), pytest.raises(SampleRefused, match=said):
        draw_sample(wanted, firm=firm, by=person, at=NOW)


def signed_in(person) -> Browser:
    browser = Browser()
    browser.force_login(person)
    return browser


def ask(browser, **more):
    sent = {"of": "visits", "number": "3", "seed": "two dice", **more}
    return browser.post(reverse("audit-sample"), sent)


def test_the_page_draws_leads_to_evidence_and_gives_the_population(firm) -> None:
    church = make.StructureFactory(site__client__firm=firm)
    visits = [ended(church, day=day) for day in range(1, 8)]
    browser = signed_in(auditor(firm, church.site.client))
    answer = ask(browser)
    entry = LogEntry.objects.get(action=SAMPLE_DRAWN)
    assert answer.url == reverse("audit-sample-drawn", args=[entry.pk])
    html = browser.get(answer.url).content.decode()
    taken = drawn("two dice", names(*visits), 3)
    for visit in visits:
        link = f'href="{reverse("visit", args=[visit.pk])}"'
        assert (link in html) == (str(visit.identity) in taken)
    assert "the same lines come out" in html
    whole = reverse("audit-sample-drawn-from", args=[entry.pk])
    assert f'href="{whole}"' in html
    file = browser.get(whole, {"as": "csv"})
    rows = list(csv.DictReader(io.StringIO(b"".join(file.streaming_content).decode("utf-8-sig"))))
    assert [row["Identity"] for row in rows] == sorted(names(*visits))
    by_hash = sorted(rows, key=lambda row: row["SHA-256 of seed:identity"])
    assert [row["Identity"] for row in by_hash[:3]] == taken
    in_sample = {row["Identity"]: int(row["Line of the sample"]) for row in rows if row["Line of the sample"]}
    assert in_sample == {identity: line for line, identity in enumerate(taken, start=1)}
    page = browser.get(whole).content.decode()
    assert all(str(visit.identity) in page for visit in visits)
    assert (page.count("not drawn"), page.count("<b>line ")) == (4, 3)
    lines = browser.get(answer.url, {"as": "csv"})
    told = list(csv.DictReader(io.StringIO(b"".join(lines.streaming_content).decode("utf-8-sig"))))
    assert [row["Identity"] for row in told] == taken


def test_what_it_was_drawn_from_is_paged_and_goes_on_counting(firm) -> None:
    church = make.StructureFactory(site__client__firm=firm)
    points = make.TestPointFactory.create_batch(LINES_A_PAGE + 3, structure=church)
    browser = signed_in(auditor(firm, church.site.client))
    drawing = ask(browser, of="points").url
    second = browser.get(f"{drawing}drawn-from/", {"page": "2"}).content.decode()
    for place, identity in enumerate(sorted(names(*points)), start=1):
        assert (identity in second) == (place > LINES_A_PAGE)
    places = re.findall(r'data-label="Line" class="n"><div>(\d+)</div>', second)
    assert places == [str(LINES_A_PAGE + more) for more in (1, 2, 3)]


def test_a_seed_is_shown_letter_by_letter_as_it_was_given(firm) -> None:
    """Two spaces too: the style keeps them, and whoever copies it draws the same."""
    church = make.StructureFactory(site__client__firm=firm)
    ended(church, day=3)
    browser = signed_in(auditor(firm, church.site.client))
    assert "two  dice" in browser.get(ask(browser, seed="two  dice").url).content.decode()


def test_the_page_says_so_when_the_population_has_changed(firm) -> None:
    church = make.StructureFactory(site__client__firm=firm)
    ended(church, day=3)
    browser = signed_in(auditor(firm, church.site.client))
    address = ask(browser).url
    ended(church, day=4)
    assert "no longer the same: 1 then, 2 now" in browser.get(address).content.decode()
    assert "it was 1 when it was drawn" in browser.get(f"{address}drawn-from/").content.decode()


def test_an_auditor_sees_their_own_drawings_and_the_office_all(firm) -> None:
    church = make.StructureFactory(site__client__firm=firm)
    ended(church, day=3)
    mine, other = (signed_in(auditor(firm, church.site.client)) for _ in range(2))
    address = ask(mine).url
    assert mine.get(address).status_code == 200
    assert other.get(address).status_code == other.get(f"{address}drawn-from/").status_code == 404
    assert address not in other.get(reverse("audit-sample")).content.decode()
    office = signed_in(member(firm, Role.QUALITY))
    assert office.get(address).status_code == 200
    assert address in office.get(reverse("audit-sample")).content.decode()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"number": "0"}, "Draw between 1 and 200"),
        ({"number": "ten"}, "Write a whole number"),
        ({"seed": ""}, "Give a seed"),
        ({"since": "2027-05-04", "until": "2027-05-03"}, "ends before it begins"),
        ({"quantity": "earth"}, "Visits have no kind of point"),
        ({"of": "points", "visit_kind": "visual"}, "Points have no kind of visit"),
        ({}, "Nothing fits these filters"),
    ],
)
def test_a_question_that_cannot_be_answered_comes_back_with_why(firm, more, said) -> None:
    answer = ask(signed_in(auditor(firm)), **more)
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_a_client_beyond_the_grant_cannot_be_chosen(firm) -> None:
    other = make.ClientFactory(firm=firm)
    assert ask(signed_in(auditor(firm)), client=other.pk).status_code == 422


@pytest.mark.parametrize("what", ["visits", "points"])
def test_a_sample_costs_the_same_queries_with_one_line_and_with_many(firm, what) -> None:
    church = make.StructureFactory(site__client__firm=firm)
    browser = signed_in(auditor(firm, church.site.client))

    def grow(number: int) -> None:
        for _ in range(number):
            visit = ended(church, day=3)
            point = make.TestPointFactory(structure=church)
            make.VerdictFactory(reading=make.ReadingFactory(visit=visit, point=point))

    def queries() -> int:
        address = ask(browser, of=what, number="50").url
        with CaptureQueriesContext(connection) as found:
            assert browser.get(address).status_code == 200
        return len(found)

    grow(1)
    queries()
    one = queries()
    grow(9)
    assert queries() == one
