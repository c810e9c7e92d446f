"""The second step: nobody is in before it, and no code is used twice."""

import json
import time
from datetime import timedelta

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from django.contrib.auth import SESSION_KEY
from django.core.cache import cache
from django.test import Client as Browser
from django.urls import reverse

from sites.models import LogEntry, SignInAttempt
from tests import factories as make
from tests.inspections.views.places_record import member, with_password
from tests.second_factor import Key, set_up_app, set_up_codes, shown

pytestmark = pytest.mark.django_db
NOON = make.AT + timedelta(hours=4)


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False) as clock:
        yield clock


@pytest.fixture
def person():
    return with_password(member(make.FirmFactory(), person={"email": "h.tollgarth@gorsewick.example"}))


@pytest.fixture
def secret(person) -> str:
    return set_up_app(person)


def first_step(person) -> Browser:
    browser = Browser()
    answer = browser.post(reverse("sign-in"), {"username": person.email, "password": make.PASSWORD})
    assert answer.url == reverse("mfa_authenticate")
    return browser


def code(browser: Browser, value: str):
    return browser.post(reverse("mfa_authenticate"), {"code": value})


def test_it_lets_in_with_the_code_the_app_shows(person, secret) -> None:
    browser = first_step(person)
    assert SESSION_KEY not in browser.session
    assert code(browser, shown(secret)).url == reverse("home")
    assert browser.session[SESSION_KEY] == str(person.pk)


def test_it_goes_on_to_where_the_person_wanted(person, secret) -> None:
    browser = Browser()
    body = {"username": person.email, "password": make.PASSWORD, "next": reverse("sites")}
    browser.post(reverse("sign-in"), body)
    assert code(browser, shown(secret)).url == reverse("sites")


@pytest.mark.parametrize(
    "name", ["home", "due", "sites", "your-sign-in", "mfa_view_recovery_codes", "change-password"]
)
def test_it_cannot_be_passed_by_going_to_another_address(person, secret, name: str) -> None:
    browser = first_step(person)
    answer = browser.get(reverse(name))
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("sign-in"))
    assert SESSION_KEY not in browser.session


def test_setting_up_another_factor_does_not_pass_it_either(person, secret) -> None:
    browser = first_step(person)
    for name in ("mfa_activate_totp", "mfa_add_webauthn", "mfa_deactivate_totp", "new-recovery-codes"):
        answer = browser.post(reverse(name), {"code": shown(secret)})
        assert answer.status_code == 302
        assert answer.url.startswith(reverse("sign-in"))
    assert Authenticator.objects.count() == 1


def test_it_takes_a_code_once(person, secret) -> None:
    seen = shown(secret)
    assert code(first_step(person), seen).url == reverse("home")
    again = first_step(person)
    assert code(again, seen).status_code == 422
    assert SESSION_KEY not in again.session


def test_it_does_not_take_the_code_before(person, secret, _noon) -> None:
    seen = shown(secret)
    _noon.shift(timedelta(seconds=31))
    assert code(first_step(person), seen).status_code == 422


def test_it_takes_each_recovery_code_once(person, secret) -> None:
    codes = set_up_codes(person)
    assert len(set(codes)) == 10
    assert code(first_step(person), codes[0]).url == reverse("home")
    again = first_step(person)
    assert code(again, codes[0]).status_code == 422
    assert code(again, codes[1]).url == reverse("home")


def test_it_stops_guessing_codes(person, secret) -> None:
    browser = first_step(person)
    for _ in range(5):
        assert code(browser, "000000").status_code == 422
    assert code(browser, shown(secret)).status_code == 429
    assert SESSION_KEY not in browser.session
    assert set(SignInAttempt.objects.values_list("outcome", flat=True)) == {"wrong code", "throttled"}
    told = LogEntry.objects.filter(action="sign-in refused").values_list("payload", flat=True)
    assert len(told) == 6
    assert "gorsewick.example" not in "".join(told)


def test_it_takes_the_code_of_nobody_else(person, secret) -> None:
    other = with_password(make.PersonFactory())
    stranger = set_up_app(other)
    assert code(first_step(person), shown(stranger)).status_code == 422


def test_the_step_is_over_after_a_quarter_of_an_hour(person, secret, _noon) -> None:
    browser = first_step(person)
    _noon.shift(timedelta(minutes=16))
    assert code(browser, shown(secret)).url == reverse("account_login")


def test_it_does_not_let_in_with_secrets_stored_under_another_key(person, secret, settings) -> None:
    settings.SECRET_KEY = "another key of another machine, long enough to be one"
    assert secret not in str(Authenticator.objects.get().data)
    assert code(first_step(person), shown(secret)).status_code == 422


def test_a_passkey_of_nobody_is_refused_alike(person) -> None:
    browser = Browser()
    begun = browser.get(reverse("mfa_login_webauthn"), headers={"accept": "application/json"})
    assert "request_options" in begun.json()
    for credential in ("", "{}", '{"id": "AA", "rawId": "AA", "type": "public-key", "response": {}}'):
        answer = browser.post(reverse("mfa_login_webauthn"), {"credential": credential})
        assert answer.url == reverse("sign-in")
        assert SESSION_KEY not in browser.session
    assert time.time() == NOON.timestamp()


def challenge(browser: Browser) -> str:
    return browser.session["mfa.webauthn.state"]["challenge"]


def passkey(browser: Browser, credential: str):
    return browser.post(reverse("mfa_login_webauthn"), {"credential": credential})


def test_a_passkey_alone_lets_in_only_where_it_asked_for_a_pin_or_finger(person) -> None:
    key = Key(person)
    for verified in (False, True):
        browser = Browser()
        browser.get(reverse("mfa_login_webauthn"), headers={"accept": "application/json"})
        answer = passkey(browser, key.answer(challenge(browser), verified=verified))
        assert (answer.url, SESSION_KEY in browser.session) == (
            (reverse("home"), True) if verified else (reverse("sign-in"), False)
        )


def test_a_key_found_lying_about_lets_nobody_in_by_the_second_step_of_another(person, secret, _noon) -> None:
    """At a second step no PIN is demanded, since a password went before: but it was not that of the key's owner.

    The challenge of that step outlives it.
    """
    other = with_password(member(make.FirmFactory(), person={"email": "other@gorsewick.example"}))
    found = Key(other)
    browser = first_step(person)
    browser.get(reverse("mfa_authenticate"))
    assert passkey(browser, found.answer(challenge(browser), verified=False)).url != reverse("home")
    _noon.shift(timedelta(minutes=16))
    answer = passkey(browser, found.answer(challenge(browser), verified=False))
    assert answer.url == reverse("sign-in")
    assert SESSION_KEY not in browser.session


@pytest.mark.parametrize(
    "credential",
    ["[]", "null", "1", '"x"', '{"response": []}', '{"response": {"userHandle": 1}}', "[[", "{}"],
)
def test_what_is_no_passkey_is_refused_with_a_sentence(person, credential: str) -> None:
    key = Key(person)
    browser = Browser()
    browser.get(reverse("mfa_login_webauthn"), headers={"accept": "application/json"})
    assert passkey(browser, credential).url == reverse("sign-in")
    told = json.loads(key.answer(challenge(browser), verified=True))
    for name in ("authenticatorData", "clientDataJSON", "signature", "userHandle"):
        for value in ("", "AA", "____", "{}", None, 7, []):
            cache.clear()  # no more than some are taken in a minute
            spoiled = {**told, "response": {**told["response"], name: value}}
            assert passkey(browser, json.dumps(spoiled)).url == reverse("sign-in"), (name, value)
    assert SESSION_KEY not in browser.session
