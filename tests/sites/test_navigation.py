"""Which pages each of the three is offered, and where they begin."""

import pytest
from django.test import Client as Browser
from django.urls import reverse

from sites.models import Role
from sites.navigation import first_page, main_pages, more_pages
from tests import factories as make


@pytest.mark.parametrize("role", Role.values)
def test_it_offers_each_role_at_most_six_main_pages_and_none_twice(role: str) -> None:
    above, below = main_pages(frozenset({role})), more_pages(frozenset({role}))
    assert 1 <= len(above) <= 6
    assert len({name for _, name in (*above, *below)}) == len(above) + len(below)


def test_each_begins_at_the_page_for_their_own_work() -> None:
    assert first_page(frozenset({Role.PLANNER})) == "due"
    assert first_page(frozenset({Role.FACILITY})) == "buildings"
    assert first_page(frozenset({Role.AUDITOR})) == "past-day"
    assert first_page(frozenset({Role.AUDITOR, Role.INSPECTOR})) == "due"
    assert first_page(frozenset()) == "due"


def test_it_offers_nobody_without_a_role_a_main_page() -> None:
    assert main_pages(frozenset()) == ()
    assert "people" not in {name for _, name in more_pages(frozenset({Role.INSPECTOR}))}


def test_two_roles_are_offered_the_pages_of_both() -> None:
    both = frozenset({Role.PLANNER, Role.AUDITOR})
    assert {"due", "audit-sample"} <= {name for _, name in (*main_pages(both), *more_pages(both))}


@pytest.mark.django_db
def test_the_front_door_leads_to_the_first_page() -> None:
    person = make.MembershipFactory(role=Role.PLANNER).person
    browser = Browser()
    assert browser.get("/").url.startswith(reverse("sign-in"))
    browser.force_login(person)
    assert browser.get("/").url == reverse("due")
