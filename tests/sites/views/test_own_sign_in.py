"""One's own sign-in: second factors, sessions, and what a firm demands of its people."""

import re
from datetime import timedelta
from urllib.parse import unquote

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import NoReverseMatch, get_resolver, reverse

from sites.actions.people import end_membership, erase_contact
from sites.actions.signing import SigningRefused, demand_second_factor
from sites.models import LogEntry, Role, SecondFactorDemand, SignInAttempt
from sites.signing.adapters import Signing
from sites.signing.demands import demands
from tests import factories as make
from tests.inspections.views.places_record import member, with_password
from tests.second_factor import set_up_app, set_up_codes, shown

pytestmark = pytest.mark.django_db
NOON = make.AT + timedelta(hours=4)
TODAY = NOON.date()


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOON, tick=False) as clock:
        yield clock


@pytest.fixture
def firm():
    return make.FirmFactory(name="Gorsewick")


@pytest.fixture
def person(firm):
    return with_password(member(firm, person={"email": "h.tollgarth@gorsewick.example"}))


@pytest.fixture
def quality(firm):
    return with_password(member(firm, Role.QUALITY, person={"email": "q@gorsewick.example"}))


def enter(person, **headers) -> Browser:
    browser = Browser(headers={"user-agent": "Mozilla/5.0 (X11; Linux x86_64) Firefox/140.0", **headers})
    answer = browser.post(reverse("sign-in"), {"username": person.email, "password": make.PASSWORD})
    if answer.url == reverse("mfa_authenticate"):
        return browser
    assert browser.session[SESSION_KEY] == str(person.pk)
    return browser


def page(browser: Browser) -> str:
    answer = browser.get(reverse("your-sign-in"))
    assert answer.status_code == 200
    return answer.content.decode()


def demand(firm, by, **changed):
    return demand_second_factor(firm, **{"demanded": True, "since": TODAY, "by": by, "at": NOON, **changed})


# Nobody enters themselves --------------------------------------------------------------------------------------


def test_there_is_no_registration() -> None:
    assert not Signing().is_open_for_signup(None)  # type: ignore[arg-type]
    for name in ("account_signup", "account_signup_by_passkey", "mfa_signup_webauthn", "account_email"):
        with pytest.raises(NoReverseMatch):
            reverse(name)
    routes = str([pattern.pattern for pattern in get_resolver().url_patterns])
    assert "signup" not in routes
    for address in ("/accounts/signup/", "/accounts/login/", "/signup/"):
        assert (
            Browser().post(address, {"email": "a@b.example", "password1": make.PASSWORD}).status_code == 404
        )


# Sessions ------------------------------------------------------------------------------------------------------


def test_it_lists_where_one_is_signed_in_and_ends_one(person) -> None:
    here, phone = (
        enter(person),
        enter(person, **{"user-agent": "Mozilla/5.0 (Linux; Android 16) Chrome/140.0"}),
    )
    told = page(here)
    assert "Firefox on Linux" in told
    assert "Chrome on Android" in told
    assert told.count("this session") == 1
    [address] = re.findall(r'action="(/your-sign-in/sessions/\d+/)"', told)
    assert here.post(address).url == reverse("your-sign-in")
    assert phone.get(reverse("due")).status_code == 302
    assert here.get(reverse("due")).status_code == 200
    assert here.post(address).status_code == 404


def test_it_ends_all_others(person) -> None:
    here, *others = (enter(person) for _ in range(3))
    here.post(reverse("end-other-sessions"))
    assert [browser.get(reverse("due")).status_code for browser in (here, *others)] == [200, 302, 302]


def test_it_ends_nobody_elses_session(person, quality) -> None:
    mine, theirs = enter(person), enter(quality)
    pk = UserSession.objects.get(user=quality).pk
    assert mine.post(reverse("end-session", args=[pk])).status_code == 404
    assert theirs.get(reverse("due")).status_code == 200


def test_a_session_ends_twelve_hours_after_signing_in_however_much_it_is_used(person, clock) -> None:
    browser = enter(person)
    for _ in range(11):
        clock.shift(timedelta(hours=1))
        assert browser.get(reverse("due")).status_code == 200
    clock.shift(timedelta(minutes=59))
    assert browser.get(reverse("due")).status_code == 200
    clock.shift(timedelta(minutes=1))
    assert browser.get(reverse("due")).url.startswith(reverse("sign-in"))
    assert SESSION_KEY not in browser.session


def test_it_keeps_when_a_session_was_last_seen_without_writing_at_each_page(person, clock) -> None:
    browser = enter(person)
    clock.shift(timedelta(minutes=4))
    with CaptureQueriesContext(
        connection,
    ) as queries:
        browser.get(reverse("sources"))
    assert not [query["sql"] for query in queries if query["sql"].startswith(("UPDATE", "INSERT"))]
    clock.shift(timedelta(minutes=1))
    browser.get(reverse("sources"))
    assert UserSession.objects.get().last_seen_at == NOON + timedelta(minutes=5)


def test_a_planted_session_key_is_not_taken_over(person) -> None:
    """Fixation: the key an attacker had set before is worth nothing after signing in."""
    attacker = Browser()
    attacker.get(reverse("forgotten-password"))
    session = attacker.session
    session["planted"] = True
    session.save()
    victim = Browser()
    victim.cookies["downlead_session"] = session.session_key
    victim.post(reverse("sign-in"), {"username": person.email, "password": make.PASSWORD})
    assert victim.get(reverse("due")).status_code == 200
    attacker.cookies["downlead_session"] = session.session_key
    assert attacker.get(reverse("due")).status_code == 302
    attacker.cookies["downlead_session"] = "chosenbymallorychosenbymallory12"
    attacker.get(reverse("sign-in"))
    assert not Session.objects.filter(session_key="chosenbymallorychosenbymallory12").exists()


def test_signing_out_forgets_the_session(person) -> None:
    browser = enter(person)
    browser.post(reverse("sign-out"))
    assert not UserSession.objects.exists()


def test_the_list_costs_the_same_with_few_and_many_sessions(person) -> None:
    browser, counts = enter(person), []
    for run in range(2):
        with CaptureQueriesContext(connection) as queries:
            page(browser)
        counts.append(len(queries))
        for n in range(30):
            key = f"{run}{n:031d}"
            Session.objects.create(session_key=key, session_data="", expire_date=NOON + timedelta(hours=1))
            UserSession.objects.create(user=person, session_key=key, ip="192.0.2.1", user_agent="")
    assert counts[0] == counts[1]


# Headers -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["sign-in", "forgotten-password", "mfa_activate_totp", "your-sign-in"])
def test_no_page_may_be_framed_or_run_a_script_of_its_own(person, name: str) -> None:
    browser = Browser() if name in ("sign-in", "forgotten-password") else enter(person)
    answer = browser.get(reverse(name))
    assert answer.status_code == 200
    assert answer["X-Frame-Options"] == "DENY"
    assert "frame-ancestors 'none'" in answer["Content-Security-Policy"]
    assert "default-src 'self'" in answer["Content-Security-Policy"]
    assert "unsafe" not in answer["Content-Security-Policy"]
    assert "style=" not in answer.content.decode()


@pytest.mark.parametrize(
    "away", ["https://elsewhere.example/", "//elsewhere.example", "http://localhost/", "/\\elsewhere.example"]
)
def test_the_second_step_and_the_password_again_go_nowhere_else(person, away: str) -> None:
    secret = set_up_app(person)
    browser = Browser()
    body = {"username": person.email, "password": make.PASSWORD, "next": away}
    assert browser.post(reverse("sign-in"), body).url == reverse("mfa_authenticate")
    assert browser.post(reverse("mfa_authenticate"), {"code": shown(secret)}).url == reverse("home")
    answer = browser.post(reverse("account_reauthenticate"), {"password": make.PASSWORD, "next": away})
    assert answer.url == reverse("home")


# Second factors ------------------------------------------------------------------------------------------------


def test_it_sets_up_an_app_shows_codes_and_removes_it(person) -> None:
    browser, elsewhere = enter(person), enter(person)
    html = browser.get(reverse("mfa_activate_totp")).content.decode()
    secret = re.search(r'class="secret">([A-Z2-7=]+)<', html)[1]  # type: ignore[index]
    assert 'src="data:image/svg+xml;base64,' in html
    assert browser.post(reverse("mfa_activate_totp"), {"code": "000000"}).status_code == 422
    answer = browser.post(reverse("mfa_activate_totp"), {"code": shown(secret)})
    assert answer.url == reverse("mfa_view_recovery_codes")
    codes = re.findall(r"<code>(\d{8})</code>", browser.get(answer.url).content.decode())
    assert len(codes) == 10
    assert elsewhere.get(reverse("due")).status_code == 302
    told = page(browser)
    assert "Authenticator app" in told
    assert "10 of 10 recovery codes left" in told
    assert browser.post(reverse("mfa_deactivate_totp")).url == reverse("your-sign-in")
    assert not Authenticator.objects.exists()
    entries = LogEntry.objects.filter(action__startswith="second factor").order_by("number")
    assert [entry.action for entry in entries] == ["second factor added", "second factor removed"]
    assert secret not in "".join(entry.payload for entry in entries)


def test_it_asks_for_the_password_again_after_five_minutes(person, clock) -> None:
    browser = enter(person)
    clock.shift(timedelta(minutes=5))
    wanted = reverse("mfa_activate_totp")
    answer = browser.get(wanted)
    assert unquote(answer.url) == f"{reverse('account_reauthenticate')}?next={wanted}"
    again = browser.post(answer.url, {"password": "not this one"})
    assert again.status_code == 422
    assert browser.post(answer.url, {"password": make.PASSWORD, "next": wanted}).url == wanted
    assert browser.get(wanted).status_code == 200


def test_new_recovery_codes_replace_the_old(person) -> None:
    secret, old = set_up_app(person), set_up_codes(person)
    browser = enter(person)
    browser.post(reverse("mfa_authenticate"), {"code": shown(secret)})
    assert browser.post(reverse("new-recovery-codes")).url == reverse("mfa_view_recovery_codes")
    late = enter(person)
    assert late.post(reverse("mfa_authenticate"), {"code": old[0]}).status_code == 422


def test_somebody_who_lost_both_is_helped_on_the_server(person, capsys) -> None:
    set_up_app(person)
    call_command("remove_second_factors", person.email)
    assert "1 removed" in capsys.readouterr().out
    assert enter(person).get(reverse("due")).status_code == 200
    assert LogEntry.objects.get(action="second factors removed").person is None
    with pytest.raises(CommandError, match="has no second factor"):
        call_command("remove_second_factors", person.email)


def test_erasing_a_persons_contact_erases_how_they_signed_in(person, quality, firm) -> None:
    set_up_app(person)
    set_up_codes(person)
    enter(person)
    SignInAttempt.objects.create(at=NOON, email_seal="x", address="192.0.2.1", outcome="wrong", person=person)
    end_membership(person.memberships.get(), until=TODAY - timedelta(days=1), by=quality, at=NOON)
    erase_contact(person, firm=firm, by=quality, at=NOON)
    assert not Authenticator.objects.exists()
    assert not UserSession.objects.exists()
    assert not SignInAttempt.objects.exists()


def test_it_tidies_what_is_over(person, clock, capsys) -> None:
    enter(person)
    clock.shift(timedelta(days=91))
    enter(person)
    call_command("tidy_sign_ins")
    assert "1 attempts and 1 sessions removed" in capsys.readouterr().out
    assert (UserSession.objects.count(), SignInAttempt.objects.count()) == (1, 1)


# What a firm demands -------------------------------------------------------------------------------------------


def test_a_firm_that_demands_one_leads_everybody_to_it_before_anything_else(person, quality, firm) -> None:
    inside = enter(person)
    demand(firm, quality)
    for name in ("home", "due", "sites", "your-sign-in", "change-password", "sources"):
        answer = inside.get(reverse(name))
        assert (answer.status_code, answer.url) == (302, reverse("second-factor-first"))
        assert inside.post(reverse(name)).url == reverse("second-factor-first")
    first = inside.get(reverse("second-factor-first")).content.decode()
    assert "Gorsewick demands a second factor" in first
    assert "<nav" not in first
    html = inside.get(reverse("mfa_activate_totp")).content.decode()
    secret = re.search(r'class="secret">([A-Z2-7=]+)<', html)[1]  # type: ignore[index]
    codes = inside.post(reverse("mfa_activate_totp"), {"code": shown(secret)}).url
    assert inside.get(codes).status_code == 200
    assert inside.get(reverse("due")).status_code == 200


def test_recovery_codes_alone_are_no_second_factor(person, quality, firm) -> None:
    demand(firm, quality)
    set_up_codes(person)
    assert enter(person).get(reverse("due")).url == reverse("second-factor-first")


def test_it_concerns_nobody_of_another_firm_nor_whose_membership_has_ended(quality, firm) -> None:
    demand(firm, quality)
    beside = member(make.FirmFactory())
    make.MembershipFactory(person=beside, firm=firm, until=TODAY - timedelta(days=1))
    browser = Browser()
    browser.force_login(beside)
    assert browser.get(reverse("due")).status_code == 200


def test_it_begins_on_its_day_and_the_row_recorded_last_holds(person, quality, firm) -> None:
    tomorrow = TODAY + timedelta(days=1)
    demand(firm, quality, since=tomorrow)
    assert (demands(firm, on=TODAY), demands(firm, on=tomorrow)) == (False, True)
    demand(firm, quality, demanded=False, since=tomorrow, at=NOON + timedelta(hours=1))
    assert not demands(firm, on=tomorrow)
    with pytest.raises(SigningRefused, match="does not demand"):
        demand(firm, quality, demanded=False, since=tomorrow)
    with pytest.raises(SigningRefused, match="in the past"):
        demand(firm, quality, since=TODAY - timedelta(days=1))


@pytest.mark.parametrize(
    ("role", "status"), [(Role.QUALITY, 302), (Role.SIGNATORY, 302), (Role.PLANNER, 403)]
)
def test_the_quality_manager_or_a_signatory_demands_it(firm, role, status: int) -> None:
    browser = Browser()
    browser.force_login(member(firm, role))
    assert ("Demand it of everybody" in page(browser)) == (status == 302)
    address = reverse("demand-second-factor", args=[firm.pk])
    assert browser.post(address, {"demanded": "yes"}).status_code == status
    assert SecondFactorDemand.objects.count() == (status == 302)
    assert LogEntry.objects.filter(action="second factor demanded").count() == (status == 302)


def test_another_firms_quality_manager_does_not_find_the_firm(firm) -> None:
    browser = Browser()
    browser.force_login(member(make.FirmFactory(), Role.QUALITY))
    address = reverse("demand-second-factor", args=[firm.pk])
    assert browser.post(address, {"demanded": "yes"}).status_code == 404
