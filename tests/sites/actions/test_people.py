"""People: entered, granted, ended, and forgotten without a hole in the log."""

from datetime import date, timedelta
from importlib import import_module

import pytest
from django.apps import apps
from django.contrib.auth import authenticate
from django.db import connection

from sites import log
from sites.actions import people
from sites.actions.people import PeopleRefused
from sites.models import Authorisation, LogEntry, Membership, Person, Role, Scope, Site, SystemKind, VisitKind
from tests import factories as f
from tests.counting import nothing_saved

pytestmark = pytest.mark.django_db
SINCE = date(2026, 1, 1)
fold = import_module("sites.migrations.0009_addresses_folded").fold


def test_it_enters_a_person_who_can_sign_in_by_any_spelling_of_the_address() -> None:
    firm = f.FirmFactory()
    person = people.create_person(
        firm, name="Ada Nobody", email="Ada@Example.org", password=f.PASSWORD, by=None, at=f.AT
    )
    assert authenticate(username="ada@example.ORG", password=f.PASSWORD) == person
    assert "example.org" not in LogEntry.objects.get().payload.casefold()


def test_it_gives_nobody_a_password_by_default() -> None:
    person = people.create_person(f.FirmFactory(), name="Ada", email="ada@example.org", by=None, at=f.AT)
    assert not person.has_usable_password()


def test_it_refuses_an_address_that_is_known_in_another_spelling() -> None:
    firm, other = f.FirmFactory(), f.PersonFactory(email="ada@example.org")
    with nothing_saved(), pytest.raises(PeopleRefused, match="already known"):
        people.create_person(firm, name="Ada", email="ADA@example.org", by=other, at=f.AT)


def write_as_typed(person: Person, email: str) -> None:
    """Into the table, as it stood there before addresses were stored folded."""
    with connection.cursor() as cursor:
        cursor.execute("UPDATE register_person SET email = %s WHERE id = %s", [email, person.pk])


def test_addresses_stored_as_typed_are_folded_by_the_migration() -> None:
    person, other = f.PersonFactory(), f.PersonFactory(email="bob@example.org")
    write_as_typed(person, "Ada@MÜLLER.example")
    fold(apps, None)
    assert list(Person.objects.order_by("pk").values_list("email", flat=True)) == [
        "ada@müller.example",
        other.email,
    ]
    assert Person.objects.get(email="ADA@Müller.example") == person


def test_two_addresses_that_would_become_one_are_told_before_anything_is_changed() -> None:
    one, other = f.PersonFactory(), f.PersonFactory()
    write_as_typed(one, "Ada@example.org")
    write_as_typed(other, "ADA@example.org")
    with nothing_saved(), pytest.raises(RuntimeError, match=r"Ada@example\.org and ADA@example\.org"):
        fold(apps, None)


def test_it_grants_a_role_a_scope_and_an_authorisation() -> None:
    site, person, planner = f.SiteFactory(), f.PersonFactory(), f.PersonFactory()
    firm = site.client.firm
    given = {"since": SINCE, "by": planner, "at": f.AT}
    membership = people.create_membership(person, firm=firm, role=Role.INSPECTOR, **given)
    assert not Site.objects.visible_to(person, on=SINCE).exists()
    people.create_scope(membership, client=site.client, **given)
    assert list(Site.objects.visible_to(person, on=SINCE)) == [site]
    people.create_authorisation(
        person, firm=firm, system_kind=SystemKind.LIGHTNING, visit_kind=VisitKind.COMPLETE, **given
    )
    assert Authorisation.objects.get().person == person
    assert [entry.action for entry in firm.log.order_by("number")] == [
        "membership created",
        "scope created",
        "authorisation created",
    ]


def test_it_reaches_no_client_of_another_firm() -> None:
    membership, strange, person = f.MembershipFactory(), f.SiteFactory(), f.PersonFactory()
    given = {"since": SINCE, "by": person, "at": f.AT}
    for place in ({"client": strange.client}, {"site": strange}):
        with nothing_saved(), pytest.raises(PeopleRefused, match="its own firm"):
            people.create_scope(membership, **place, **given)
    with nothing_saved(), pytest.raises(PeopleRefused, match="Name either a client or a site"):
        people.create_scope(membership, **given)
    assert not Scope.objects.exists()


def test_it_refuses_a_reach_that_the_role_has_on_some_of_these_days_already() -> None:
    site, person = f.SiteFactory(), f.PersonFactory()
    membership = f.MembershipFactory(firm=site.client.firm, role=Role.FACILITY)
    given = {"by": person, "at": f.AT}
    people.create_scope(membership, site=site, since=SINCE, until=date(2026, 6, 30), **given)
    with nothing_saved(), pytest.raises(PeopleRefused, match="on some of these days already"):
        people.create_scope(membership, site=site, since=date(2026, 6, 30), **given)
    people.create_scope(membership, site=site, since=date(2026, 7, 1), **given)
    people.create_scope(membership, client=site.client, since=SINCE, **given)
    beside = f.MembershipFactory(firm=site.client.firm, role=Role.INSPECTOR, person=membership.person)
    people.create_scope(beside, site=site, since=SINCE, **given)
    assert Scope.objects.count() == 4


def test_it_authorises_nobody_who_does_not_belong() -> None:
    firm, person = f.FirmFactory(), f.PersonFactory()
    with nothing_saved(), pytest.raises(PeopleRefused, match="Enter the membership first"):
        people.create_authorisation(
            person,
            firm=firm,
            system_kind=SystemKind.LIGHTNING,
            visit_kind=VisitKind.VISUAL,
            since=SINCE,
            by=person,
            at=f.AT,
        )


def test_it_ends_a_membership_on_its_last_day() -> None:
    site = f.SiteFactory()
    membership = f.MembershipFactory(firm=site.client.firm, since=SINCE)
    last = date(2026, 12, 31)
    people.end_membership(membership, until=last, by=membership.person, at=f.AT)
    assert Site.objects.visible_to(membership.person, on=last).exists()
    assert not Site.objects.visible_to(membership.person, on=last + timedelta(days=1)).exists()
    with nothing_saved(), pytest.raises(PeopleRefused, match="before it begins"):
        people.end_membership(membership, until=date(2025, 1, 1), by=membership.person, at=f.AT)


def test_it_forgets_a_person_and_leaves_every_chain_whole() -> None:
    """The sealed address stays in the log, and nothing on record can confirm it any more."""
    firm, other = f.FirmFactory(), f.FirmFactory()
    given = {"by": None, "at": f.AT}
    person = people.create_person(firm, name="Ada", email="ada@example.org", password=f.PASSWORD, **given)
    quality = f.PersonFactory()
    for one in (firm, other):
        membership = people.create_membership(
            person, firm=one, role=Role.INSPECTOR, since=SINCE, by=person, at=f.AT
        )
        people.end_membership(membership, until=date(2026, 6, 30), by=person, at=f.AT)
    sealed = log.sealed(person, "ada@example.org")
    payloads = list(LogEntry.objects.order_by("pk").values_list("payload", flat=True))
    assert any(sealed in payload for payload in payloads)

    people.erase_contact(person, firm=firm, by=quality, at=f.AT)

    person = Person.objects.get(pk=person.pk)
    assert (person.email, person.is_active, person.name) == (None, False, "Ada")
    assert log.sealed(person, "ada@example.org") != sealed
    assert authenticate(username="ada@example.org", password=f.PASSWORD) is None
    assert not person.has_usable_password()
    kept = list(LogEntry.objects.order_by("pk").values_list("payload", flat=True))
    assert kept[: len(payloads)] == payloads
    assert list(log.faults(firm)) == list(log.faults(other)) == []


def test_it_forgets_nobody_who_still_belongs_to_a_firm() -> None:
    membership, person = f.MembershipFactory(), f.PersonFactory()
    with nothing_saved(), pytest.raises(PeopleRefused, match="End the membership first"):
        people.erase_contact(membership.person, firm=membership.firm, by=person, at=f.AT)
    assert Membership.objects.get().person.email is not None


def test_it_forgets_two_people() -> None:
    """Their addresses are both unknown afterwards, which the rule of one address a person must allow."""
    firm, quality = f.FirmFactory(), f.PersonFactory()
    for _ in range(2):
        people.erase_contact(f.PersonFactory(), firm=firm, by=quality, at=f.AT)
    assert Person.objects.filter(email__isnull=True).count() == 2
