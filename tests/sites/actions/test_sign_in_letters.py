"""Whoever's way of signing in is changed gets a letter, through a real mail server, and no secret is in it."""

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse

from sites import mail
from sites.actions.signing import change_password, remove_second_factors, renew_password, tell_second_factor
from sites.models import LogEntry, Role
from tests import factories as make
from tests.inspections.views.places_record import member, with_password
from tests.post import Post, post  # noqa: F401
from tests.second_factor import set_up_app, set_up_codes, shown

# Letters go once an act is committed, so these tests commit.
pytestmark = pytest.mark.django_db(transaction=True)
NOON = make.AT + timedelta(hours=4)
NEW = "another-braid-on-the-roof"


@pytest.fixture(autouse=True)
def clock() -> Any:
    with time_machine.travel(NOON, tick=False) as clock:
        yield clock


@pytest.fixture
def firm() -> Any:
    return make.FirmFactory(name="Gorsewick")


@pytest.fixture
def person(firm: Any) -> Any:
    return with_password(
        member(firm, person={"email": "h.tollgarth@gorsewick.example", "name": "Hester Tollgarth"})
    )


@pytest.fixture
def quality(firm: Any) -> Any:
    return with_password(
        member(firm, Role.QUALITY, person={"email": "q@gorsewick.example", "name": "P. Marrow"})
    )


def enter(person: Any) -> Browser:
    browser = Browser()
    browser.post(reverse("sign-in"), {"username": person.email, "password": make.PASSWORD})
    return browser


def letter(post: Post, count: int = 1) -> str:  # noqa: F811
    """The last letter's words, once the thread that sends them has done so; there must be so many."""
    mail._post.submit(int).result(timeout=20)
    assert len(post.letters) == count
    assert post.letters[-1]["To"] == "h.tollgarth@gorsewick.example"
    assert post.letters[-1]["Subject"] == "Your sign-in to Downlead was changed"
    return post.text()


def test_it_tells_of_a_changed_password_and_what_to_do(person: Any, post: Post) -> None:  # noqa: F811
    change = {"current": make.PASSWORD, "password": NEW, "again": NEW}
    assert enter(person).post(reverse("change-password"), change).status_code == 302
    told = letter(post)
    assert "The password of your sign-in to Downlead was changed." in told
    assert "It was done by somebody signed in as you." in told
    assert post.link() == reverse("forgotten-password")
    assert "If you know of this, there is nothing to do." in told
    assert f"{NOON.day} {NOON:%b %Y, %H:%M} UTC" in told
    for secret in (NEW, make.PASSWORD):
        assert secret not in told


def test_it_tells_of_a_password_set_by_a_mailed_link(person: Any, post: Post) -> None:  # noqa: F811
    browser = Browser()
    browser.post(reverse("forgotten-password"), {"email": person.email})
    mail._post.submit(int).result(timeout=20)
    link = post.link()
    address = browser.get(link).url
    assert browser.post(address, {"password": NEW, "again": NEW}).status_code == 302
    told = letter(post, 2)
    assert "A new password was set" in told and "through a link that had been mailed" in told
    assert NEW not in told and link.split("/")[-2] not in told


def test_it_tells_of_an_app_added_and_removed(person: Any, post: Post) -> None:  # noqa: F811
    browser = enter(person)
    page = browser.get(reverse("mfa_activate_totp"))
    secret = page.context["form"].secret
    assert browser.post(reverse("mfa_activate_totp"), {"code": shown(secret)}).status_code == 302
    told = letter(post)
    assert "An authenticator app was added" in told
    assert secret not in told
    assert browser.post(reverse("mfa_deactivate_totp")).status_code == 302
    assert "The authenticator app was removed" in letter(post, 2)


def test_it_tells_of_new_recovery_codes_but_none_of_them(person: Any, post: Post) -> None:  # noqa: F811
    secret, old = set_up_app(person), set_up_codes(person)
    browser = enter(person)
    browser.post(reverse("mfa_authenticate"), {"code": shown(secret)})
    browser.post(reverse("new-recovery-codes"))
    told = letter(post)
    assert "New recovery codes were made" in told and "older ones no longer work" in told
    new = Authenticator.objects.get(user=person, type="recovery_codes").wrap().get_unused_codes()
    assert [code for code in (*old, *new) if code in told] == []


@pytest.mark.parametrize("what", ["added", "removed"])
def test_it_tells_of_a_passkey(person: Any, post: Post, what: str) -> None:  # noqa: F811
    factor = Authenticator(user=person, type=Authenticator.Type.WEBAUTHN, data={})
    tell_second_factor(person, what, factor, session=None, at=NOON)
    assert f"A passkey was {what}" in letter(post)


def test_it_tells_who_else_removed_the_second_factors_and_why(person: Any, quality: Any, post: Post) -> None:  # noqa: F811
    set_up_app(person)
    remove_second_factors(person, by=quality, at=NOON, reason="telephone lost; called back")
    told = letter(post)
    assert "Every second factor of your sign-in to Downlead was removed" in told
    assert "It was done by P. Marrow. The reason given: telephone lost; called back" in told


def test_it_tells_of_what_was_done_on_the_server(person: Any, post: Post) -> None:  # noqa: F811
    set_up_app(person)
    call_command("remove_second_factors", person.email, reason="codes lost")
    told = letter(post)
    assert "It was done by whoever runs the server. The reason given: codes lost" in told


def test_it_tells_nothing_of_what_did_not_happen(person: Any, post: Post) -> None:  # noqa: F811
    change = {"current": "not this one", "password": NEW, "again": NEW}
    assert enter(person).post(reverse("change-password"), change).status_code == 422
    mail._post.submit(int).result(timeout=20)
    assert post.letters == []


def test_without_a_mail_server_the_log_has_it(person: Any, quality: Any) -> None:
    change_password(person, password=NEW, session=None, at=NOON)
    set_up_app(person)
    remove_second_factors(person, by=quality, at=NOON, reason="lost")
    actions = list(LogEntry.objects.order_by("number").values_list("action", flat=True))
    assert actions[-2:] == ["password changed", "second factors removed"]


def test_a_mail_server_that_refuses_takes_nothing_back(person: Any, post: Post) -> None:  # noqa: F811
    post.refuse = "550 no such box"
    change_password(person, password=NEW, session=None, at=NOON)
    mail._post.submit(int).result(timeout=20)
    person.refresh_from_db()
    assert person.check_password(NEW)
    assert post.letters == []


def test_nobody_without_an_address_is_written_to(firm: Any, post: Post) -> None:  # noqa: F811
    gone = member(firm, person={"email": None})
    set_up_app(gone)
    remove_second_factors(gone, by=None, at=NOON)
    mail._post.submit(int).result(timeout=20)
    assert post.letters == []


def test_the_mailed_link_still_ends_with_one_letter_when_used_twice(person: Any, post: Post) -> None:  # noqa: F811
    from django.contrib.auth.tokens import default_token_generator

    from sites.actions.signing import LinkOver

    token = default_token_generator.make_token(person)
    renew_password(person, token=token, password=NEW, at=NOON)
    with pytest.raises(LinkOver):
        renew_password(person, token=token, password="what-mallory-would-like", at=NOON)
    letter(post)
