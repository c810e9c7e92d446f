"""A forgotten password by a mailed link, and a changed one."""

import re
import time
from datetime import timedelta

import pytest
import time_machine
from allauth.usersessions.models import UserSession
from django.contrib.auth import SESSION_KEY
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse

from sites import mail
from sites.models import LogEntry
from tests import factories as make
from tests.inspections.views.places_record import member, with_password
from tests.post import post  # noqa: F401

pytestmark = pytest.mark.django_db
NEW = "another-braid-on-the-roof"
SET = {"password": NEW, "again": NEW}


@pytest.fixture
def person():
    return with_password(member(make.FirmFactory(), person={"email": "h.tollgarth@gorsewick.example"}))


def signed_in(person, password: str = make.PASSWORD) -> Browser:
    browser = Browser()
    browser.post(reverse("sign-in"), {"username": person.email, "password": password})
    assert browser.session[SESSION_KEY] == str(person.pk)
    return browser


def ask(email: str, browser: Browser | None = None):
    return (browser or Browser()).post(reverse("forgotten-password"), {"email": email})


def letters(post, count: int) -> None:  # noqa: F811
    """Letters go by a thread: wait for them, and a little longer for one too many."""
    mail._post.submit(int).result(timeout=20)
    assert len(post.letters) == count


def follow(browser: Browser, link: str) -> str:
    """Open a mailed link: the secret leaves the address."""
    answer = browser.get(link)
    assert answer.status_code == 302
    assert answer.url.endswith("/set-password/")
    return answer.url


def test_it_mails_a_link_by_which_a_new_password_is_set(person, post) -> None:  # noqa: F811
    elsewhere = signed_in(person)
    assert ask("H.Tollgarth@gorsewick.EXAMPLE").url == reverse("link-sent")
    letters(post, 1)
    assert post.letters[0]["To"] == person.email
    browser = Browser()
    address = follow(browser, post.link())
    assert browser.post(address, SET).url == reverse("sign-in")
    signed_in(person, NEW)
    assert elsewhere.get(reverse("due")).status_code == 302
    assert LogEntry.objects.filter(action="password renewed by a mailed link").count() == 1


def test_the_link_works_once(person, post) -> None:  # noqa: F811
    ask(person.email)
    letters(post, 1)
    first, second = Browser(), Browser()
    addresses = [follow(browser, post.link()) for browser in (first, second)]
    assert first.post(addresses[0], SET).status_code == 302
    late = {"password": "what-mallory-would-like", "again": "what-mallory-would-like"}
    assert second.post(addresses[1], late).status_code == 410
    assert Browser().get(post.link()).status_code == 410
    person.refresh_from_db()
    assert person.check_password(NEW)


def test_the_link_ends_after_two_hours_and_by_signing_in(person, post) -> None:  # noqa: F811
    with time_machine.travel(make.AT, tick=False) as clock:
        ask(person.email)
        letters(post, 1)
        clock.shift(timedelta(hours=2))
        follow(Browser(), post.link())
        clock.shift(timedelta(seconds=1))
        assert Browser().get(post.link()).status_code == 410
        ask(person.email)
        letters(post, 2)
        signed_in(person)
        assert Browser().get(post.link()).status_code == 410


def test_it_refuses_a_weak_password_with_the_form(person, post) -> None:  # noqa: F811
    ask(person.email)
    letters(post, 1)
    browser = Browser()
    answer = browser.post(follow(browser, post.link()), {"password": "short", "again": "short"})
    assert answer.status_code == 422
    assert "too short" in answer.content.decode()


@pytest.mark.parametrize("case", ["unknown", "retired", "invited only"])
def test_it_answers_alike_and_mails_nothing_to_others(person, post, case: str) -> None:  # noqa: F811
    if case == "retired":
        person.is_active = False
    if case == "invited only":
        person.set_unusable_password()
    person.save()
    email = "nobody@gorsewick.example" if case == "unknown" else person.email
    told = [ask(one, Browser()) for one in (email, with_password(make.PersonFactory()).email)]
    assert [(answer.status_code, answer.url) for answer in told] == [(302, reverse("link-sent"))] * 2
    letters(post, 1)
    assert email not in str(post.letters[0]["To"])


def test_the_answer_does_not_wait_for_the_mail_server(person, post, monkeypatch) -> None:  # noqa: F811
    """Held up for two seconds, the letter goes out after the answer is there."""
    plainly = mail.send

    def slowly(*args, **kwargs):
        time.sleep(2)
        return plainly(*args, **kwargs)

    monkeypatch.setattr(mail, "send", slowly)
    begun = time.monotonic()
    ask(person.email)
    assert time.monotonic() - begun < 1.5
    assert post.letters == []
    letters(post, 1)


def test_it_stops_a_flood_of_letters(person, post) -> None:  # noqa: F811
    told = [ask(person.email).status_code for _ in range(6)]
    assert told == [302] * 5 + [429]
    letters(post, 5)


def test_it_says_what_to_do_where_there_is_no_mail_server(person, settings, capsys) -> None:
    settings.MAIL_URL = ""
    page = Browser().get(reverse("forgotten-password")).content.decode()
    assert "no mail server" in page
    assert "manage.py password_link" in page
    assert "<button" not in page
    assert "no mail server" in Browser().get(reverse("link-sent")).content.decode()
    call_command("password_link", person.email)
    link = re.sub(r"^https?://[^/]+", "", capsys.readouterr().out.strip())
    browser = Browser()
    assert browser.post(follow(browser, link), SET).url == reverse("sign-in")


def test_changing_it_ends_the_other_sessions_and_this_one_goes_on_under_a_new_key(person) -> None:
    here, elsewhere = signed_in(person), signed_in(person)
    before = here.session.session_key
    answer = here.post(reverse("change-password"), {"current": make.PASSWORD, **SET})
    assert answer.url == reverse("your-sign-in")
    assert here.session.session_key != before
    assert here.get(reverse("due")).status_code == 200
    assert elsewhere.get(reverse("due")).status_code == 302
    assert UserSession.objects.get(user=person).session_key == here.session.session_key
    assert "this session" in here.get(reverse("your-sign-in")).content.decode()
    person.refresh_from_db()
    assert person.check_password(NEW)
    assert LogEntry.objects.filter(action="password changed").count() == 1


def test_changing_it_wants_the_current_one_and_counts_the_guesses(person) -> None:
    browser = signed_in(person)
    for _ in range(5):
        answer = browser.post(reverse("change-password"), {"current": "not this one", **SET})
        assert answer.status_code == 422
        assert "not your password" in answer.content.decode()
    answer = browser.post(reverse("change-password"), {"current": make.PASSWORD, **SET})
    assert answer.status_code == 422
    assert "Too many attempts" in answer.content.decode()
    person.refresh_from_db()
    assert person.check_password(make.PASSWORD)


@pytest.mark.parametrize("name", ["forgotten-password", "change-password"])
def test_it_wants_the_forms_token(person, name: str) -> None:
    browser = Browser(enforce_csrf_checks=True)
    browser.force_login(person)
    assert browser.post(reverse(name), {"email": person.email}).status_code == 403
