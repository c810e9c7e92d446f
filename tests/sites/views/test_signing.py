"""Signing in by e-mail, and out."""

import pytest
from django.contrib.auth import SESSION_KEY
from django.test import Client as Browser
from django.urls import reverse

from sites.models import Role
from sites.views.signing import WRONG
from tests import factories as make
from tests.inspections.views.places_record import member, with_password

pytestmark = pytest.mark.django_db
ELSEWHERE = [
    "https://elsewhere.example/",
    "//elsewhere.example/due/",
    "javascript:alert(1)",
    "http:///elsewhere.example",
]


@pytest.fixture
def person():
    return with_password(member(make.FirmFactory(), person={"email": "h.tollgarth@gorsewick.example"}))


def sign_in(browser: Browser, email: str, password: str = make.PASSWORD, **more):
    return browser.post(reverse("sign-in"), {"username": email, "password": password, **more})


@pytest.mark.parametrize("email", ["h.tollgarth@gorsewick.example", "H.Tollgarth@GORSEWICK.example"])
def test_it_signs_in_by_email_in_any_case(person, email: str) -> None:
    browser = Browser()
    answer = sign_in(browser, email)
    assert (answer.status_code, answer.url) == (302, reverse("home"))
    assert browser.session[SESSION_KEY] == str(person.pk)


@pytest.mark.parametrize("case", ["wrong password", "unknown", "retired", "no password"])
def test_it_says_the_same_whatever_was_wrong(person, case: str) -> None:
    if case == "retired":
        person.is_active = False
        person.save()
    if case == "no password":
        person.set_unusable_password()
        person.save()
    email = "nobody@gorsewick.example" if case == "unknown" else person.email
    browser = Browser()
    answer = sign_in(browser, email, "not this one" if case == "wrong password" else make.PASSWORD)
    assert answer.status_code == 200
    assert answer.content.decode().count(WRONG) == 1
    assert SESSION_KEY not in browser.session
    assert f'value="{email}"' in answer.content.decode()
    assert make.PASSWORD not in answer.content.decode()


def test_it_does_not_sign_in_somebody_whose_contact_was_erased(person) -> None:
    person.email = None
    person.save()
    assert WRONG in sign_in(Browser(), "None").content.decode()


def test_it_gives_the_session_a_new_key(person) -> None:
    browser = Browser()
    session = browser.session
    session["seen"] = True
    session.save()
    before = session.session_key
    sign_in(browser, person.email)
    assert browser.session.session_key != before
    inside = browser.session.session_key
    browser.post(reverse("sign-out"))
    assert browser.session.session_key != inside
    assert SESSION_KEY not in browser.session


def test_it_goes_on_to_where_the_person_wanted(person) -> None:
    wanted = reverse("sites")
    page = Browser().get(f"{reverse('sign-in')}?next={wanted}").content.decode()
    assert f'name="next" value="{wanted}"' in page
    assert sign_in(Browser(), person.email, next=wanted).url == wanted


@pytest.mark.parametrize("away", ELSEWHERE)
def test_it_never_goes_on_to_another_site(person, away: str) -> None:
    assert sign_in(Browser(), person.email, next=away).url == reverse("home")


def test_it_does_not_go_on_to_signing_out(person) -> None:
    late = Browser().post(reverse("sign-out"))
    assert late.status_code == 302
    browser = Browser()
    answer = sign_in(browser, person.email, next=reverse("sign-out"))
    assert answer.url == reverse("home")
    assert SESSION_KEY in browser.session


def test_it_takes_who_is_signed_in_to_the_first_page(person) -> None:
    browser = Browser()
    browser.force_login(person)
    assert browser.get(reverse("sign-in")).url == reverse("home")


def test_it_signs_out_by_post_only(person) -> None:
    browser = Browser()
    browser.force_login(person)
    assert browser.get(reverse("sign-out")).status_code == 405
    assert SESSION_KEY in browser.session
    assert browser.post(reverse("sign-out")).url == reverse("sign-in")
    assert browser.get(reverse("due")).status_code == 302


def test_it_wants_the_forms_token(person) -> None:
    assert sign_in(Browser(enforce_csrf_checks=True), person.email).status_code == 403


def test_it_says_at_the_top_where_somebody_works_and_as_what(person) -> None:
    other = make.FirmFactory(name="Zzyx Earthing")
    make.MembershipFactory(person=person, firm=person.memberships.get().firm, role=Role.REVIEWER)
    make.MembershipFactory(person=person, firm=other, role=Role.QUALITY)
    make.MembershipFactory(person=person, firm=make.FirmFactory(name="Past"), until=make.SINCE)
    browser = Browser()
    browser.force_login(person)
    html = browser.get(reverse("due")).content.decode()
    firm = person.memberships.order_by("pk").first().firm
    assert f"{firm} · planner, reviewing engineer; Zzyx Earthing · quality manager" in html
    assert "Past" not in html
