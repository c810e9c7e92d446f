"""A session that ended while somebody typed, and the bare address of a form that is only sent."""

import pytest
from django.test import Client as Browser
from django.urls import reverse

from tests import factories as make

pytestmark = pytest.mark.django_db
HERE = "http://testserver"


def typed(address: str, body: dict[str, object], **headers: str):  # type: ignore[no-untyped-def]
    return Browser().post(address, body, headers=headers)


def test_what_was_typed_when_the_session_had_ended_is_shown_with_the_way_back() -> None:
    address = reverse("visit-defect", args=[7])
    body = {
        "defect-place": "roof <east>",
        "defect-words": "loose\nrusty",
        "defect-point": "",
        "csrfmiddlewaretoken": "x",
        "shown": '{"name": "as it was"}',
    }
    answer = typed(address, body, referer=f"{HERE}{reverse('visit', args=[7])}?only=owed")
    said = answer.content.decode()
    assert answer.status_code == 403 and "You were signed out meanwhile" in said
    assert "<dt>Defect place</dt><dd>roof &lt;east&gt;</dd>" in said and "loose<br>rusty" in said
    assert "Defect point" not in said and "csrfmiddlewaretoken</dt>" not in said
    assert "as it was" not in said
    assert f'href="{reverse("sign-in")}?next=%2Fvisits%2F7%2F%3Fonly%3Dowed"' in said
    # Nothing of it is kept anywhere.
    assert "sessionid" not in answer.cookies and "downlead_session" not in answer.cookies


def test_the_way_back_leads_nowhere_else() -> None:
    answer = typed(
        reverse("visit-defect", args=[7]), {"defect-words": "x"}, referer="https://elsewhere.example/a"
    )
    assert f'href="{reverse("sign-in")}?next=%2F"' in answer.content.decode()


def test_nothing_typed_leads_to_the_sign_in_and_from_there_to_a_page_that_opens() -> None:
    answer = typed(reverse("visit-start", args=[7]), {}, referer=f"{HERE}{reverse('visit', args=[7])}")
    assert answer.status_code == 302 and answer.url == f"{reverse('sign-in')}?next=%2Fvisits%2F7%2F"


def test_passwords_are_never_shown() -> None:
    answer = typed(reverse("change-password"), {"oldpassword": "an old one", "password1": "a new one"})
    assert answer.status_code == 302


def test_a_body_with_files_stays_unread() -> None:
    """Its size is looked at by the view, after the wall."""
    answer = typed(reverse("visit-readings-file", args=[7]), {"words": "a whole day"})
    assert answer.status_code == 403 and "a whole day" not in answer.content.decode()


def test_the_bare_address_of_a_form_names_the_page_it_belongs_to() -> None:
    browser = Browser()
    browser.force_login(make.MembershipFactory().person)
    answer = browser.get(reverse("visit-conditions", args=[7]))
    said = answer.content.decode()
    assert answer.status_code == 405 and answer["Allow"] == "POST"
    assert f'<a href="{reverse("visit", args=[7])}">the page it belongs to</a>' in said
    above = browser.get(reverse("end-session", args=[7])).content.decode()
    assert f'<a href="{reverse("your-sign-in")}">the page it belongs to</a>' in above
