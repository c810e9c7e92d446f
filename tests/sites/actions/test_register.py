"""Acts on the register: dated, logged, and refused in a sentence."""

import json
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from sites import log
from sites.actions import register
from sites.actions.register import RegisterRefused
from sites.models import Firm, LogEntry, LogHead, PartDetail, Person, PointNumber, StructureDetail, TestPoint
from tests import factories as f
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
DAY = date(2026, 5, 1)


def by() -> Person:
    return Person.objects.first() or f.PersonFactory()


def last_entry() -> tuple[str, dict[str, Any]]:
    entry = LogEntry.objects.latest("pk")
    return entry.action, json.loads(entry.payload)["facts"]


def test_it_builds_a_register_step_by_step_with_an_entry_for_each() -> None:
    person = by()
    given = {"by": person, "at": f.AT}
    firm = register.create_firm(name="An Invented Firm", address="1 Nowhere Lane", **given)
    client = register.create_client(firm, name="Somebody", **given)
    site = register.create_site(client, name="Works", time_zone="Europe/London", **given)
    structure = register.create_structure(
        site, name="Hall", use="works", protection_class="II", since=DAY, height_m=Decimal("12.50"), **given
    )
    system = register.create_system(structure, kind="lightning protection", name="LPS", **given)
    part = register.create_part(
        system, kind="down-conductor", name="DC 1", since=DAY, material="copper", **given
    )
    point = register.create_point(
        part, quantity="continuity", place="north", number="12A", since=DAY, **given
    )
    assert [entry.action for entry in firm.log.order_by("number")] == [
        "firm created",
        "client created",
        "site created",
        "structure created",
        "system created",
        "part created",
        "point created",
    ]
    assert list(log.faults(firm)) == []
    assert StructureDetail.objects.get().height_m == Decimal("12.50")
    assert PartDetail.objects.get().since == DAY
    assert PointNumber.objects.get().number == point.number == "12A"
    assert firm.accreditation == "No accreditation is claimed for this report."


def test_it_gives_a_firm_no_second_name() -> None:
    person = by()
    register.create_firm(name="An Invented Firm", address="x", by=person, at=f.AT)
    with nothing_saved(), pytest.raises(RegisterRefused, match="already exists"):
        register.create_firm(name="An Invented Firm", address="y", by=person, at=f.AT)


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"time_zone": "Mars/Base"}, "is not a known time zone"),
        ({"latitude": Decimal("91"), "longitude": Decimal(0)}, "The latitude 91 is out of range"),
        ({"latitude": Decimal(0), "longitude": Decimal("180.1")}, "The longitude 180.1 is out of range"),
        ({"latitude": Decimal(1)}, "A position needs latitude and longitude"),
        ({"name": ""}, "cannot be blank"),
    ],
)
def test_it_refuses_a_site_that_cannot_be(facts: dict[str, Any], words: str) -> None:
    client, person = f.ClientFactory(), by()
    given = {"name": "Works", "time_zone": "UTC", **facts}
    with nothing_saved(), pytest.raises(RegisterRefused, match=words):
        register.create_site(client, by=person, at=f.AT, **given)


@pytest.mark.parametrize(("latitude", "longitude"), [("90", "180"), ("-90", "-180")])
def test_it_takes_the_ends_of_the_globe(latitude: str, longitude: str) -> None:
    register.require_position(Decimal(latitude), Decimal(longitude))


def test_it_describes_a_structure_anew_and_keeps_how_it_was() -> None:
    structure, person = f.StructureFactory(protection_class="III"), by()
    register.describe_structure(
        structure, since=DAY, protection_class="II", critical=True, by=person, at=f.AT
    )
    old, new = structure.details.order_by("since")
    assert (old.protection_class, new.protection_class, new.critical, new.use) == (
        "III",
        "II",
        True,
        "offices",
    )
    action, facts = last_entry()
    assert (action, facts["was"], facts["is"]["protection_class"]) == (
        "structure described",
        {"protection_class": "III", "critical": False},
        "II",
    )


def test_it_describes_a_part_but_not_before_its_last_description() -> None:
    part, person = f.PartFactory(), by()
    register.describe_part(part, since=DAY, length_m=Decimal("16.0"), by=person, at=f.AT)
    with nothing_saved(), pytest.raises(RegisterRefused, match="as of 1 May 2026 already"):
        register.describe_part(part, since=DAY - timedelta(days=1), length_m=Decimal(3), by=person, at=f.AT)
    with nothing_saved(), pytest.raises(TypeError, match="colour"):
        register.describe_part(part, since=DAY, colour="green", by=person, at=f.AT)


def test_it_names_what_a_bond_lacks() -> None:
    system, person = f.SystemFactory(), by()
    with nothing_saved(), pytest.raises(RegisterRefused, match="Say what the bond joins"):
        register.create_part(system, kind="bond", name="B", since=DAY, by=person, at=f.AT)


def test_it_renumbers_a_point_whose_identity_stays() -> None:
    point, person = f.TestPointFactory(number="7"), by()
    again = register.renumber_point(point, number="7A", since=DAY, by=person, at=f.AT)
    assert (again.pk, again.identity, again.number) == (point.pk, point.identity, "7A")
    assert list(point.numbers.values_list("number", "since")) == [("7", f.SINCE), ("7A", DAY)]
    assert last_entry() == ("point renumbered", {"was": "7", "is": "7A", "since": "2026-05-01"})


@pytest.mark.parametrize(
    ("number", "since", "words"),
    [
        ("8", DAY, "Number 8 is taken"),
        ("7A", f.AT.date() + timedelta(days=1), "on the day or afterwards"),
        ("7A", f.SINCE - timedelta(days=1), "carries its number since 1 Jan 2020"),
        ("x" * 25, DAY, "longer than 24"),
    ],
)
def test_it_refuses_a_number_that_cannot_be(number: str, since: date, words: str) -> None:
    point, person = f.TestPointFactory(number="7"), by()
    f.TestPointFactory(structure=point.structure, number="8")
    with nothing_saved(), pytest.raises(RegisterRefused, match=words):
        register.renumber_point(point, number=number, since=since, by=person, at=f.AT)


def test_it_takes_today_for_a_new_number_by_the_sites_own_clock() -> None:
    """At 08:00 UTC on 4 Jan 2027 it is still 3 Jan in Honolulu."""
    point, person = f.TestPointFactory(structure__site__time_zone="Pacific/Honolulu"), by()
    at = f.AT.replace(hour=8)
    with pytest.raises(RegisterRefused):
        register.renumber_point(point, number="99", since=date(2027, 1, 4), by=person, at=at)
    register.renumber_point(point, number="99", since=date(2027, 1, 3), by=person, at=at)


def test_it_retires_a_point_and_lets_its_number_be_used_again() -> None:
    point, person = f.TestPointFactory(number="7"), by()
    register.retire_point(point, on=DAY, reason="wall gone", by=person, at=f.AT)
    assert TestPoint.objects.standing_on(DAY - timedelta(days=1)).get() == point
    assert not TestPoint.objects.standing_on(DAY).exists()
    given = {"quantity": "continuity", "place": "new wall", "since": DAY, "by": person, "at": f.AT}
    register.create_point(point.part, number="7", **given)
    with nothing_saved(), pytest.raises(RegisterRefused, match="was retired on 1 May 2026 already"):
        register.retire_point(point, on=DAY, reason="again", by=person, at=f.AT)
    with nothing_saved(), pytest.raises(RegisterRefused, match="Number 7 is taken"):
        register.create_point(point.part, number="7", **given)


@pytest.mark.parametrize(("on", "reason"), [(DAY, "  "), (f.SINCE - timedelta(days=1), "gone")])
def test_it_wants_a_reason_and_a_day_the_point_stood(on: date, reason: str) -> None:
    point, person = f.TestPointFactory(), by()
    with nothing_saved(), pytest.raises(RegisterRefused):
        register.retire_point(point, on=on, reason=reason, by=person, at=f.AT)


@pytest.mark.django_db(transaction=True)
def test_it_takes_everything_back_where_the_log_cannot_be_written() -> None:
    client, person = f.ClientFactory(), by()
    LogHead.objects.all().delete()
    with nothing_saved(), pytest.raises(LogHead.DoesNotExist):
        register.create_site(client, name="Works", time_zone="UTC", by=person, at=f.AT)
    assert Firm.objects.count() == 1
