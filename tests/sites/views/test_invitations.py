"""The page behind an invitation's link."""

from datetime import date, timedelta

import pytest
import time_machine
from django.contrib.auth import SESSION_KEY
from django.test import Client as Browser
from django.urls import reverse

from sites.actions.invitations import InvitationOver, accept_invitation, invite, withdraw_invitation
from sites.models import Role
from sites.views.passwords import renewal_link
from tests import factories as f
from tests.post import post  # noqa: F401

pytestmark = pytest.mark.django_db
SET = {"name": "Ada Lovage", "password": f.PASSWORD, "again": f.PASSWORD}


@pytest.fixture(autouse=True)
def _on_that_day():
    with time_machine.travel(f.AT + timedelta(hours=1), tick=False):
        yield


@pytest.fixture
def invited():
    return invite(
        f.FirmFactory(name="Gorsewick"),
        email="ada@example.org",
        name="Ada Nobody",
        roles=[Role.PLANNER],
        since=date(2027, 1, 4),
        by=f.PersonFactory(name="H. Tollgarth"),
        at=f.AT,
    )


@pytest.fixture
def address(invited) -> str:
    return "/" + invited.link.split("/", 3)[3]


def test_it_goes_from_the_letter_to_the_first_page(post, django_capture_on_commit_callbacks) -> None:  # noqa: F811
    with django_capture_on_commit_callbacks(execute=True):
        invite(
            f.FirmFactory(),
            email="ada@example.org",
            name="Ada",
            roles=[Role.PLANNER],
            since=date(2027, 1, 4),
            by=f.PersonFactory(),
            at=f.AT,
        )
    browser = Browser()
    assert browser.post(post.link(), SET).url == reverse("sign-in")
    answer = browser.post(reverse("sign-in"), {"username": "ada@example.org", "password": f.PASSWORD})
    assert answer.url == reverse("home")
    assert browser.get(reverse("due")).status_code == 200


def test_it_says_who_invites_and_offers_the_name(address) -> None:
    answer = Browser().get(address)
    page = answer.content.decode()
    assert "H. Tollgarth has entered you at Gorsewick" in page
    assert 'value="Ada Nobody"' in page
    assert "no-store" in answer["Cache-Control"]


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"again": "something else here"}, "The two do not agree"),
        ({"password": "short", "again": "short"}, "too short"),
        ({"password": "password1234", "again": "password1234"}, "too common"),
        ({"name": ""}, "This field is required"),
    ],
)
def test_it_keeps_what_was_typed_and_says_what_is_wrong(address, invited, changed, words) -> None:
    answer = Browser().post(address, {**SET, **changed})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    assert ('value="Ada Lovage"' in page) == ("name" not in changed)
    assert f.PASSWORD not in page
    invited.person.refresh_from_db()
    assert not invited.person.has_usable_password()


@pytest.mark.parametrize("case", ["unknown", "used", "withdrawn", "expired"])
def test_it_answers_alike_to_every_link_that_does_not_work(address, invited, case: str) -> None:
    at = f.AT + timedelta(hours=2)
    if case == "unknown":
        address = reverse("invitation", args=["x" * 43])
    elif case == "used":
        Browser().post(address, SET)
    elif case == "withdrawn":
        withdraw_invitation(invited.invitation, by=invited.invitation.by, at=f.AT)
    else:
        at = f.AT + timedelta(days=7)
    with time_machine.travel(at, tick=False):
        answers = [Browser().get(address), Browser().post(address, {**SET, "name": "Mallory"})]
    assert [answer.status_code for answer in answers] == [410, 410]
    assert answers[0].content == answers[1].content
    assert "can no longer be used" in answers[0].content.decode()
    invited.person.refresh_from_db()
    assert invited.person.name != "Mallory"


def test_it_signs_out_whoever_sat_at_the_device(address) -> None:
    browser = Browser()
    browser.force_login(f.PersonFactory())
    browser.post(address, SET)
    assert SESSION_KEY not in browser.session


def test_it_wants_the_forms_token(address, invited) -> None:
    assert Browser(enforce_csrf_checks=True).post(address, SET).status_code == 403
    invited.person.refresh_from_db()
    assert not invited.person.has_usable_password()


def test_it_sets_no_second_password_where_one_was_set_by_another_link(address, invited) -> None:
    """The command password_link also serves somebody who has not followed their invitation yet."""
    browser = Browser()
    form = browser.get("/" + renewal_link(invited.person).split("/", 3)[3]).url
    assert browser.post(form, {"password": f.PASSWORD, "again": f.PASSWORD}).url == reverse("sign-in")
    other = "words that somebody else chose"
    assert Browser().get(address).status_code == 410
    assert Browser().post(address, {**SET, "password": other, "again": other}).status_code == 410
    invited.person.refresh_from_db()
    assert invited.person.check_password(f.PASSWORD)
    with pytest.raises(InvitationOver):
        accept_invitation(invited.invitation, name="Ada", password=other, at=f.AT)
