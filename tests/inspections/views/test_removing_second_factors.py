"""The page on which the second factors of somebody who has lost them are taken away."""

from typing import Any

import pytest
from allauth.mfa.models import Authenticator
from django.test import Client as Browser
from django.urls import reverse

from sites.models import LogEntry, Role
from tests import factories as make
from tests.inspections.views.places_record import member, with_password
from tests.second_factor import set_up_app, set_up_codes

pytestmark = pytest.mark.django_db
WHY = "lost the telephone; called back at the number in our files"
LINK = "remove the second factors of"


@pytest.fixture
def firm() -> Any:
    return make.FirmFactory()


@pytest.fixture
def person(firm: Any) -> Any:
    person = with_password(member(firm, person={"name": "Rowan Underhazel"}))
    set_up_app(person)
    set_up_codes(person)
    return person


@pytest.fixture
def quality(firm: Any) -> Any:
    return member(firm, Role.QUALITY)


def as_(person: Any) -> Browser:
    browser = Browser()
    browser.force_login(person)
    return browser


def address(person: Any) -> str:
    return reverse("person-remove-factors", args=[person.pk])


def page(asking: Any, person: Any) -> str:
    return as_(asking).get(reverse("person", args=[person.pk])).content.decode()


def test_it_takes_them_away_with_the_reason_in_the_log(person: Any, quality: Any) -> None:
    theirs = Browser()
    theirs.force_login(person)
    told = page(quality, person)
    assert LINK in told and address(person) in told
    assert "Authenticator app" in told and "recovery codes" in told
    asked = as_(quality).get(address(person)).content.decode()
    assert "make sure that it is they who ask" in asked
    answer = as_(quality).post(address(person), {"reason": WHY}, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("person", args=[person.pk])
    said = answer.content.decode()
    assert "are removed, and all their sessions have ended" in said
    assert LINK not in said
    assert WHY in said, "the history on the person's page says why"
    assert not Authenticator.objects.exists()
    entry = LogEntry.objects.get(action="second factors removed")
    assert entry.person == quality and WHY in entry.payload


def test_it_asks_why_and_changes_nothing_without(person: Any, quality: Any) -> None:
    answer = as_(quality).post(address(person), {"reason": "  "})
    assert answer.status_code == 422
    assert "Say why, and how you made sure" in answer.content.decode()
    assert Authenticator.objects.count() == 2


def test_nobody_else_is_offered_it(person: Any, firm: Any) -> None:
    for role in (Role.PLANNER, Role.REVIEWER):
        somebody = member(firm, role)
        assert LINK not in page(somebody, person)
        assert as_(somebody).post(address(person), {"reason": WHY}).status_code == 403
    assert Authenticator.objects.count() == 2


def test_ones_own_are_removed_where_the_password_is_asked(quality: Any) -> None:
    set_up_app(quality)
    assert LINK not in page(quality, quality)
    answer = as_(quality).post(address(quality), {"reason": WHY})
    assert answer.status_code == 422
    assert "Remove your own at" in answer.content.decode()
    assert Authenticator.objects.count() == 1


def test_what_protects_another_firm_too_is_not_this_firms_to_lift(person: Any, quality: Any) -> None:
    make.MembershipFactory(person=person, firm=make.FirmFactory(), role=Role.FACILITY)
    assert LINK not in page(quality, person)
    answer = as_(quality).post(address(person), {"reason": WHY})
    assert answer.status_code == 422
    assert "Only whoever runs the server" in answer.content.decode()
    assert Authenticator.objects.count() == 2


def test_where_there_is_none_it_says_so(quality: Any, firm: Any) -> None:
    somebody = member(firm, person={"name": "Bertram Oakenshale"})
    assert LINK not in page(quality, somebody)
    answer = as_(quality).post(address(somebody), {"reason": WHY})
    assert answer.status_code == 422
    assert "Bertram Oakenshale has no second factor." in answer.content.decode()
