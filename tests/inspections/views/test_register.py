"""Editing the register by its pages: what is asked, what comes back, and what is shown of how it was."""

import re
from datetime import date

import pytest
import time_machine
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections import proof
from inspections.actions import due
from sites.models import Client, Part, Role, Site, Structure, System, TestPoint
from tests import factories as make
from tests.counting import nothing_saved
from tests.inspections.views.places_record import NOON, Record, member, record
from tests.inspections.views.test_due import words
from tests.inspections.views.test_places import queries

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def known(db) -> Record:
    known = record()
    due.refresh([known.church.pk, known.store.pk], at=NOON)
    return known


def browser(person) -> Browser:
    asking = Browser()
    asking.force_login(person)
    return asking


def sent(asking: Browser, page: str, *args, query: str = "", **data):
    return asking.post(reverse(page, args=args) + query, data)


def shown(asking: Browser, name: str, *args) -> str:
    answer = asking.get(reverse(name, args=args))
    assert answer.status_code == 200
    return words(answer.content.decode())


STRUCTURE = {
    "name": "Barn", "use": "stable", "protection_class": "II", "critical": "no", "explosion_risk": "yes",
    "height_m": "9,5 m", "roof_perimeter_m": "", "since": "2027-05-01",
}  # fmt: skip


def test_a_planner_builds_a_register_from_a_client_down_to_a_point(known: Record) -> None:
    asking = browser(member(known.firm))
    assert sent(asking, "client-new", name="Mill Trust", paper="A4").status_code == 302
    client = Client.objects.get(name="Mill Trust")
    site = {
        "name": "Old mill",
        "address": "",
        "time_zone": "Pacific/Auckland",
        "latitude": "",
        "longitude": "",
    }
    assert sent(asking, "site-new", client.pk, **site).status_code == 302
    place = Site.objects.get(name="Old mill")
    assert sent(asking, "structure-new", place.pk, **STRUCTURE).status_code == 302
    barn = Structure.objects.get(name="Barn")
    assert (str(barn.height_m), barn.explosion_risk, barn.critical) == ("9.5", True, False)
    assert sent(asking, "system-new", barn.pk, kind="earthing", name="Earths").status_code == 302
    system = System.objects.get(name="Earths")
    tape = {"name": "Main bond", "from_what": "bar", "to_what": "frame", "material": "copper",
            "length_m": "60 m", "section_mm2": "2 x 3 mm", "parallel_paths": "", "since": "2027-05-01"}  # fmt: skip
    answer = sent(asking, "part-new", system.pk, query="?kind=bond", **tape)
    part = Part.objects.get(name="Main bond")
    assert answer["Location"] == reverse("part", args=[part.pk])
    assert (str(part.section_mm2), part.parallel_paths, part.kind) == ("6", None, "bond")
    assert "asks for 16" in shown(asking, "part", part.pk), "asked right after it was entered"
    point = {"number": "1", "quantity": "bond", "place": "=SUM", "since": "2027-05-01"}
    refused = sent(asking, "point-new", part.pk, **point)
    assert refused.status_code == 422 and "begins like a formula" in refused.content.decode()
    assert sent(asking, "point-new", part.pk, **point | {"place": "plant room"}).status_code == 302
    assert TestPoint.objects.get(part=part).place == "plant room"
    assert list(proof.due_date_faults(at=NOON)) == []


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("height_m", "9.5", "“9.5” does not give a number and a unit. Write 12 m."),
        ("critical", "", "Say whether it is critical."),
        ("since", "05/01/2027", "is not a day"),
        ("since", "2027-05-19", "A change is entered on the day or afterwards"),
        ("name", "", "Write the structure’s name."),
    ],
)
def test_it_keeps_what_was_typed_and_says_what_would_be_right(
    known: Record, field: str, value: str, sentence: str
) -> None:
    asking = browser(member(known.firm))
    with nothing_saved():
        answer = sent(asking, "structure-change", known.church.pk, **STRUCTURE | {field: value})
    html = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in html
    assert 'value="Barn"' in html or field == "name"
    assert f'value="{value}"' in html or not value or field == "critical"


def test_no_day_is_chosen_for_the_planner(known: Record) -> None:
    html = browser(member(known.firm)).get(reverse("structure-change", args=[known.church.pk]))
    assert re.search(r'<input type="date" name="since"(?![^>]*value=)', html.content.decode())


def test_a_change_is_shown_with_its_day_and_what_was_said_before(known: Record) -> None:
    asking = browser(member(known.firm, person={"name": "H. Tollgarth"}))
    assert sent(asking, "structure-change", known.church.pk, **STRUCTURE).status_code == 302
    page = shown(asking, "structure", known.church.pk)
    assert "1 May 2027 17 May 2027, 13:00 Structure described, H. Tollgarth" in page
    assert "Protection class: class III, now class II" in page
    assert "Height: 24 m, now 9.5 m" in page
    assert "1 Jan 2020 4 Jan 2027, 08:00 First on record" in page
    assert list(proof.due_date_faults(at=NOON)) == []


def as_shown(asking: Browser, name: str, *args) -> dict[str, str]:
    """What a browser would send of a form in which only the day was filled in."""
    form = asking.get(reverse(name, args=args)).context["form"]
    held = {field.name: field.value() for field in form}
    return {name: "" if value is None else str(value) for name, value in held.items()} | {
        "since": "2027-05-10"
    }


def test_what_somebody_else_changed_while_a_form_was_open_stays_changed(known: Record) -> None:
    first, second = browser(member(known.firm)), browser(member(known.firm))
    mine, theirs = (as_shown(one, "structure-change", known.church.pk) for one in (first, second))
    address = reverse("structure-change", args=[known.church.pk])
    assert first.post(address, mine | {"protection_class": "I", "critical": "yes"}).status_code == 302
    assert second.post(address, theirs | {"use": "church and hall"}).status_code == 302
    known.church.refresh_from_db()
    assert (known.church.protection_class, known.church.critical) == ("I", True)
    assert known.church.use == "church and hall"


def test_what_both_changed_is_asked_about_and_loses_nothing(known: Record) -> None:
    first, second = browser(member(known.firm)), browser(member(known.firm))
    mine, theirs = (as_shown(one, "structure-change", known.church.pk) for one in (first, second))
    address = reverse("structure-change", args=[known.church.pk])
    assert first.post(address, mine | {"protection_class": "I", "height_m": "30 m"}).status_code == 302
    typed = theirs | {"protection_class": "IV", "use": "chapel", "height_m": "30 m"}
    with nothing_saved():
        answer = second.post(address, typed)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "Somebody changed this to “class I” while the form was open" in html
    form = answer.context["form"]
    assert form.errors.keys() == {"protection_class"}  # the same height is no contradiction
    assert (form["use"].value(), form["protection_class"].value()) == ("chapel", "IV")
    again = {field.name: field.value() or "" for field in form}
    assert second.post(address, again).status_code == 302
    known.church.refresh_from_db()
    assert (known.church.protection_class, known.church.use) == ("IV", "chapel")


@pytest.mark.parametrize("shown", ["", "no json", "[1]", '{"protection_class": 3, "nobody": "x"}'])
def test_without_what_it_showed_a_form_says_all_of_it(known: Record, shown: str) -> None:
    person = browser(member(known.firm))
    sent = as_shown(person, "structure-change", known.church.pk) | {"shown": shown, "use": "chapel"}
    assert person.post(reverse("structure-change", args=[known.church.pk]), sent).status_code == 302
    known.church.refresh_from_db()
    assert known.church.use == "chapel"


def test_a_point_is_moved_renumbered_and_retired_with_its_reason_in_sight(known: Record) -> None:
    asking = browser(member(known.firm))
    point = known.church.points.get(number="2")
    since = {"since": "2027-05-10"}
    assert sent(asking, "point-change", point.pk, place="west pier", **since).status_code == 302
    assert sent(asking, "point-renumber", point.pk, number="10", **since).status_code == 422
    assert sent(asking, "point-renumber", point.pk, number="2B", **since).status_code == 302
    assert sent(asking, "point-retire", point.pk, reason="wall gone", on="2027-05-12").status_code == 302
    page = shown(asking, "point", point.pk)
    assert "2B since 10 May 2027" in page and "2 since 1 Jan 2020" in page
    assert "Place: north-east corner, 1 m above ground, now west pier" in page
    assert "Number: 2, now 2B" in page and "wall gone" in page
    assert "retired on 12 May 2027" in page
    point.refresh_from_db()
    assert (point.number, point.retired_on) == ("2B", date(2027, 5, 12))
    assert list(proof.due_date_faults(at=NOON)) == []


def test_a_site_and_a_client_change_and_tell_how_they_were(known: Record) -> None:
    asking = browser(member(known.firm))
    site = {"name": "Nether Beck", "address": "Mill Lane", "time_zone": "Europe/London",
            "latitude": "54.1", "longitude": "", "since": "2027-05-01"}  # fmt: skip
    assert (
        "needs latitude and longitude" in sent(asking, "site-change", known.site.pk, **site).content.decode()
    )
    site["longitude"] = "-1.52"
    assert sent(asking, "site-change", known.site.pk, **site).status_code == 302
    assert "Address: Church Lane, Nether Beck, now Mill Lane" in shown(asking, "site", known.site.pk)
    client = {"name": "Parish of Four Becks", "paper": "Letter", "since": "2027-05-01"}
    assert sent(asking, "client-change", known.client.pk, **client).status_code == 302
    assert "Paper of reports: A4, now Letter" in shown(asking, "client", known.client.pk)


def test_links_to_forms_are_shown_to_nobody_they_would_refuse(known: Record) -> None:
    point = known.church.points.get(number="2")
    pages = [("sites",), ("client", known.client.pk), ("site", known.site.pk), ("structure", known.church.pk),
             ("structure-parts", known.church.pk), ("part", point.part_id), ("point", point.pk)]  # fmt: skip
    for role in Role.values:
        asking = browser(member(known.firm, role, clients=[known.client]))
        for name, *args in pages:
            html = asking.get(reverse(name, args=args)).content.decode()
            forms = re.findall(r'href="(/[a-z]+/\d*/?(?:new|change|renumber|retire|new-[a-z]+)/)"', html)
            assert bool(forms) is (role == Role.PLANNER), (role, name, forms)
            for address in forms:
                assert asking.get(address).status_code == 200


def test_a_client_shows_only_the_sites_the_person_may_see(known: Record) -> None:
    other = make.SiteFactory(client=known.client, name="Upper Beck")
    reader = member(known.firm, Role.FACILITY)
    make.ScopeFactory(membership=reader.memberships.get(), client=None, site=known.site)
    page = shown(browser(reader), "client", known.client.pk)
    assert "Nether Beck" in page and other.name not in page and "1 site;" in page


def test_names_are_shown_as_they_are(known: Record) -> None:
    part = make.PartFactory(system__structure=known.church, name="<script>part</script>", section_mm2="1")
    make.TestPointFactory(structure=known.church, part=part, number="<b>9</b>", place="<script>x</script>")
    asking = browser(member(known.firm))
    for name, pk in (("structure-parts", known.church.pk), ("part", part.pk), ("part-change", part.pk)):
        html = asking.get(reverse(name, args=[pk])).content.decode()
        assert "<script>" not in html and "<b>9</b>" not in html and "&lt;script&gt;part" in html


def test_lists_take_the_same_queries_for_one_row_and_for_many(known: Record) -> None:
    person = member(known.firm)
    part = known.church.parts.get()
    pages = [("client", known.client.pk), ("structure-parts", known.church.pk), ("part", part.pk)]
    before = [queries(person, *page) for page in pages]
    for number in range(30):
        make.SiteFactory(client=known.client)
        make.PartFactory(system=part.system, section_mm2="10")
        make.TestPointFactory(structure=known.church, part=part, number=f"8{number}")
    assert [queries(person, *page) for page in pages] == before
    assert max(before) <= 16


def find(person, text: str) -> str:
    answer = browser(person).get(reverse("register-find"), {"text": text})
    assert answer.status_code == 200
    return words(answer.content.decode().partition("<tbody")[2].partition("</tbody>")[0])


def test_a_point_is_found_by_the_number_it_once_carried(known: Record) -> None:
    person = member(known.firm)
    point = known.church.points.get(number="2")
    sent(browser(person), "point-renumber", point.pk, number="2B", since="2027-05-10")
    assert "Point 2B was 2 test point" in find(person, "2")
    assert "Parish of Three Becks › Nether Beck › St Elfrida" in find(person, "2b")
    assert "was" not in find(person, "2b")


def test_the_search_goes_from_client_to_point_and_stays_behind_the_walls(known: Record) -> None:
    other = make.TestPointFactory(number="2", place="Beck weir", structure__name="Beck house")
    person = member(known.firm)
    page = find(person, "beck")
    assert page.index("Parish of Three Becks client") < page.index("Nether Beck site")
    assert other.place not in page and "Beck house" not in page
    assert find(member(known.firm, Role.FACILITY), "beck") == ""
    assert find(member(other.structure.site.client.firm), "2").count("Point 2") == 1


def test_a_site_lists_the_parts_whose_section_asks_a_question(known: Record) -> None:
    make.PartFactory(system__structure=known.church, name="Thin tape", section_mm2="25")
    make.PartFactory(system__structure=known.store, name="Thin too", section_mm2="49")
    asking = browser(member(known.firm))
    page = shown(asking, "section-questions", known.site.pk)
    assert "2 parts at Nether Beck" in page and "Thin tape" in page and "Thin too" in page
    assert "from memory" in page and "Conductor" not in page
    address = reverse("section-questions", args=[known.site.pk])
    only = words(asking.get(address, {"structure": known.store.pk}).content.decode())
    assert "1 part of Powder store" in only and "Thin tape" not in only
    assert asking.get(address, {"structure": "²"}).status_code == 404


def test_searching_and_asking_take_the_same_queries_for_one_row_and_for_many(known: Record) -> None:
    person = member(known.firm)
    part = make.PartFactory(system__structure=known.church, section_mm2="25", name="Beck tape")
    make.TestPointFactory(structure=known.church, part=part, number="700", place="beck side")

    def counted() -> list[int]:
        asking, found = browser(person), []
        for address in (reverse("register-find") + "?text=beck",
                        reverse("section-questions", args=[known.site.pk])):  # fmt: skip
            with CaptureQueriesContext(connection) as caught:
                assert asking.get(address).status_code == 200
            found.append(len(caught))
        return found

    before = counted()
    for number in range(20):
        make.PartFactory(system=part.system, section_mm2="10")
        make.TestPointFactory(structure=known.church, part=part, number=f"7{number}x", place="beck side")
    assert counted() == before
