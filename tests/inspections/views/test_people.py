"""People: who sees whom, and the acts of the quality manager and the signatory."""

import csv
import io
import re
from datetime import UTC, date, datetime

import pytest
import time_machine
from django.core import mail
from django.db import connection, transaction
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspections.models import Visit, VisitState
from sites import log
from sites.models import Authorisation, Firm, LogEntry, Membership, Person, Role, Scope, Site
from tests import factories as make
from tests.inspections.views.places_record import member

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 5, 17, 12, 0, tzinfo=UTC)
TODAY = "2027-05-17"


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def firm() -> Firm:
    return make.FirmFactory(name="Gorsewick Lightning & Earthing")


def signed_in(person: Person) -> Browser:
    browser = Browser()
    browser.force_login(person)
    return browser


def listed(browser: Browser, **query) -> list[str]:
    answer = browser.get(reverse("people"), query)
    assert answer.status_code == 200
    return re.findall(
        r'<th scope="row" role="rowheader"[^>]*><a href="[^"]+">([^<]+)</a>', answer.content.decode()
    )


def text(answer, status: int = 200) -> str:
    assert answer.status_code == status
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def quality(firm: Firm) -> Browser:
    return signed_in(member(firm, Role.QUALITY, person={"name": "Q. Manager"}))


def test_the_office_sees_everybody_with_a_role_today_and_on_request_the_others(firm) -> None:
    member(firm, Role.INSPECTOR, person={"name": "A. Inspector"})
    member(firm, Role.INSPECTOR, person={"name": "B. Former"}, until=date(2027, 5, 16))
    member(firm, Role.INSPECTOR, person={"name": "C. Future"}, since=date(2027, 5, 18))
    member(make.FirmFactory(), Role.PLANNER, person={"name": "D. Stranger"})
    browser = quality(firm)
    assert listed(browser) == ["A. Inspector", "Q. Manager"]
    assert listed(browser, when="all") == ["A. Inspector", "B. Former", "C. Future", "Q. Manager"]
    assert listed(browser, role=Role.INSPECTOR) == ["A. Inspector"]
    assert listed(browser, text="nobody like that") == []


def test_a_row_says_roles_reach_authorisations_and_the_next_end(firm) -> None:
    client = make.ClientFactory(firm=firm, name="Parish of Three Becks")
    person = member(
        firm, Role.INSPECTOR, person={"name": "A. Inspector"}, clients=[client], until=date(2027, 12, 31)
    )
    for kind in ("visual", "complete"):
        make.AuthorisationFactory(person=person, firm=firm, visit_kind=kind, until=date(2027, 9, 30))
    make.AuthorisationFactory(person=person, firm=firm, visit_kind="re-test", until=date(2027, 5, 16))
    shown = text(quality(firm).get(reverse("people"), {"text": "A. Insp"}))
    for words in (
        "inspector until 31 Dec 2027", "Parish of Three Becks", "lightning protection: complete, visual", "30 Sep 2027",
    ):  # fmt: skip
        assert words in shown
    assert "re-test" not in shown
    answer = quality(firm).get(reverse("people"), {"text": "A. Insp", "as": "csv"})
    (row,) = csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode("utf-8-sig")))
    assert (row["Person"], row["E-mail address"], row["Next end"]) == (
        "A. Inspector",
        person.email,
        "2027-09-30",
    )


def test_an_auditor_sees_who_has_to_do_with_the_grant_and_no_contact_data(firm) -> None:
    granted, other = (
        make.ClientFactory(firm=firm, name="Granted"),
        make.ClientFactory(firm=firm, name="Elsewhere"),
    )
    member(firm, Role.SIGNATORY, person={"name": "A. Signatory"})
    both = member(firm, Role.FACILITY, person={"name": "B. Both"}, clients=[granted, other])
    beyond = member(firm, Role.FACILITY, person={"name": "C. Beyond"}, clients=[other])
    assigned = member(firm, Role.INSPECTOR, person={"name": "D. Assigned"})
    member(firm, Role.INSPECTOR, person={"name": "E. Idle"})
    visit = make.VisitFactory(structure__site__client=granted)
    make.VisitPersonFactory(visit=visit, person=assigned)
    browser = signed_in(member(firm, Role.AUDITOR, person={"name": "F. Auditor"}, clients=[granted]))
    assert listed(browser) == ["A. Signatory", "B. Both", "D. Assigned", "F. Auditor"]
    answer = browser.get(reverse("person", args=[both.pk]))
    assert "Granted" in text(answer)
    for secret in ("Elsewhere", both.email):
        assert secret not in answer.content.decode()
        assert secret not in browser.get(reverse("people")).content.decode()
    assert browser.get(reverse("person", args=[beyond.pk])).status_code == 404
    assert "Give a role" not in text(answer)
    for scope in Scope.objects.filter(client=other):
        assert browser.get(reverse("reach-end", args=[scope.pk])).status_code == 404


def test_an_auditor_reads_of_a_person_what_the_log_lets_them_read(firm) -> None:
    granted = make.ClientFactory(firm=firm)
    planner = member(firm, Role.PLANNER, person={"name": "A. Planner"})
    manager = member(firm, Role.FACILITY, person={"name": "B. Manager"}, clients=[granted])
    scope = Scope.objects.get(membership__person=manager)
    by = member(firm, Role.SIGNATORY, person={"name": "C. Signatory"})
    removed = {"reason": "lost the telephone, called back"}
    with transaction.atomic():
        hidden = log.record(firm, "second factors removed", planner, by=by, at=NOW, facts=removed)
        log.record(firm, "scope created", scope, by=by, at=NOW)
        log.record(firm, "second factors removed", manager, by=by, at=NOW, facts=removed)
    auditor = signed_in(member(firm, Role.AUDITOR, clients=[granted]))
    assert "lost the telephone" not in text(auditor.get(reverse("log-entry", args=[hidden.pk])))
    told = text(auditor.get(reverse("person", args=[planner.pk])))
    assert "econd factors removed" not in told and "lost the telephone" not in told and "C. Sig" not in told
    assert "Entries outside your grant" in told and "Nothing is recorded" not in told
    told = text(auditor.get(reverse("person", args=[manager.pk])))
    assert "Scope created" in told and "econd factors removed" not in told
    told = text(quality(firm).get(reverse("person", args=[planner.pk])))
    assert "Second factors removed: lost the telephone, called back" in told
    assert "Entries outside your grant" not in told


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.FACILITY])
def test_whoever_has_no_business_with_people_gets_none(firm, role) -> None:
    person = member(firm, role)
    browser = signed_in(person)
    assert browser.get(reverse("people")).status_code == 403
    assert browser.get(reverse("person", args=[person.pk])).status_code == 404


@pytest.mark.parametrize("role", [Role.PLANNER, Role.QUALITY, Role.AUDITOR])
def test_the_list_costs_the_same_queries_with_one_and_with_many(firm, role) -> None:
    client = make.ClientFactory(firm=firm)
    browser = signed_in(member(firm, role, clients=[client]))

    def grow(number: int) -> None:
        for _ in range(number):
            person = member(firm, Role.FACILITY, clients=[client])
            make.ScopeFactory(
                membership=person.memberships.get(), client=None, site=make.SiteFactory(client=client)
            )
            make.AuthorisationFactory(person=person, firm=firm)

    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            assert browser.get(reverse("people")).status_code == 200
        return len(found)

    grow(1)
    one = queries()
    grow(10)
    assert queries() == one


def test_a_role_is_given_and_ended_and_its_history_is_told(firm) -> None:
    person = member(firm, Role.INSPECTOR, person={"name": "A. Inspector"})
    browser = quality(firm)
    sent = {"role": Role.REVIEWER, "since": TODAY, "until": ""}
    answer = browser.post(reverse("person-add-role", args=[person.pk]), sent)
    assert answer.url == reverse("person", args=[person.pk])
    row = Membership.objects.get(person=person, role=Role.REVIEWER)
    assert (row.firm, row.since, row.until) == (firm, date(2027, 5, 17), None)
    browser.post(reverse("role-end", args=[row.pk]), {"until": "2027-06-30"})
    row.refresh_from_db()
    assert row.until == date(2027, 6, 30)
    shown = text(browser.get(reverse("person", args=[person.pk])))
    assert "Membership ended: reviewing engineer, until 30 Jun 2027" in shown
    assert "Membership created: reviewing engineer, from 17 May 2027" in shown
    assert shown.index("Membership ended") < shown.index("Membership created")


def test_a_renewed_inspector_sees_where_they_are_to_go_and_the_page_says_why(firm) -> None:
    person = member(firm, Role.INSPECTOR, until=date(2027, 5, 31))
    visit = make.VisitFactory(firm=firm, structure__site__client__firm=firm, state=VisitState.PLANNED)
    make.VisitPersonFactory(visit=visit, person=person)
    browser = quality(firm)
    sent = {"role": Role.INSPECTOR, "since": "2027-06-01", "until": ""}
    assert browser.post(reverse("person-add-role", args=[person.pk]), sent).status_code == 302
    assert Visit.objects.visible_to(person, on=date(2027, 6, 1)).get() == visit
    assert "to an open end, by assignment" in text(browser.get(reverse("person", args=[person.pk])))


def test_a_role_held_already_is_refused_with_what_was_typed(firm) -> None:
    person = member(firm, Role.INSPECTOR)
    sent = {"role": Role.INSPECTOR, "since": "2027-08-01", "until": ""}
    answer = quality(firm).post(reverse("person-add-role", args=[person.pk]), sent)
    shown = text(answer, 422)
    assert "already is inspector on some of these days" in shown
    assert "2027-08-01" in answer.content.decode()


def test_nobody_becomes_an_auditor_by_the_form_of_roles(firm) -> None:
    person = member(firm, Role.INSPECTOR)
    sent = {"role": Role.AUDITOR, "since": TODAY}
    assert quality(firm).post(reverse("person-add-role", args=[person.pk]), sent).status_code == 422


def test_a_reach_is_given_and_ended(firm) -> None:
    site = make.SiteFactory(client__firm=firm)
    strange = make.SiteFactory()
    person = member(firm, Role.FACILITY)
    browser, address = quality(firm), reverse("role-reach", args=[person.memberships.get().pk])
    assert "Name either a client or a site" in text(browser.post(address, {"since": TODAY}), 422)
    assert browser.post(address, {"site": strange.pk, "since": TODAY}).status_code == 422
    browser.post(address, {"site": site.pk, "since": TODAY})
    assert list(Site.objects.visible_to(person, on=NOW.date())) == [site]
    scope = Scope.objects.get()
    assert browser.post(reverse("reach-end", args=[scope.pk]), {"until": "2027-05-16"}).status_code == 422
    browser.post(reverse("reach-end", args=[scope.pk]), {"until": TODAY})
    assert list(Site.objects.visible_to(person, on=date(2027, 5, 17))) == [site]
    assert not Site.objects.visible_to(person, on=date(2027, 5, 18)).exists()


def test_authorisations_stand_in_a_matrix_and_end(firm) -> None:
    person = member(firm, Role.INSPECTOR)
    browser = quality(firm)
    sent = {
        "system_kinds": ["earthing", "bonding"], "visit_kinds": ["visual", "complete"], "since": TODAY,
        "until": "2028-05-16",
    }  # fmt: skip
    browser.post(reverse("person-authorise", args=[person.pk]), sent)
    assert Authorisation.objects.filter(person=person).count() == 4
    row = Authorisation.objects.get(system_kind="earthing", visit_kind="visual")
    browser.post(reverse("authorisation-end", args=[row.pk]), {"until": "2027-07-01"})
    shown = text(browser.get(reverse("person", args=[person.pk])))
    assert "Earthing no 1 Jul 2027 16 May 2028 no no no no" in shown
    assert "Lightning protection no no no no no no no" in shown
    assert LogEntry.objects.filter(action="authorisation ended", subject=row.identity).count() == 1


def test_a_grant_needs_its_last_day_and_ends_by_itself(firm) -> None:
    client = make.ClientFactory(firm=firm)
    site = make.SiteFactory(client=client)
    person = member(firm, Role.INSPECTOR)
    browser, address = quality(firm), reverse("person-grant", args=[person.pk])
    assert "Give the last day" in text(browser.post(address, {"clients": [client.pk], "since": TODAY}), 422)
    assert "at least one client or site" in text(
        browser.post(address, {"since": TODAY, "until": "2027-06-30"}), 422
    )
    assert not Membership.objects.filter(role=Role.AUDITOR).exists()
    browser.post(address, {"clients": [client.pk], "since": TODAY, "until": "2027-06-30"})
    assert list(Site.objects.visible_to(person, on=date(2027, 6, 30))) == [site]
    assert not Site.objects.visible_to(person, on=date(2027, 7, 1)).exists()
    row = Membership.objects.get(role=Role.AUDITOR)
    longer = browser.post(reverse("role-end", args=[row.pk]), {"until": "2027-07-31"})
    assert "not made longer" in text(longer, 422)


def test_contact_data_is_erased_once_nothing_is_in_force(firm) -> None:
    person = member(firm, Role.INSPECTOR)
    browser, address = quality(firm), reverse("person-erase-contact", args=[person.pk])
    assert "End the membership first" in text(browser.post(address), 422)
    Membership.objects.filter(person=person).update(until=date(2027, 5, 16))
    assert "Forget how to reach" in text(browser.get(reverse("person", args=[person.pk])))
    browser.post(address)
    person.refresh_from_db()
    assert (person.email, person.is_active) == (None, False)
    assert "contact data is erased" in text(browser.get(reverse("person", args=[person.pk])))


def invitation(**more) -> dict:
    return {
        "name": "N. Newcomer",
        "email": "new@example.org",
        "roles": [Role.PLANNER],
        "since": TODAY,
        **more,
    }


@pytest.mark.django_db(transaction=True)
def test_somebody_is_invited_by_letter(firm, settings) -> None:
    settings.MAIL_URL = "smtp://127.0.0.1"
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    browser = signed_in(member(firm, Role.SIGNATORY))
    answer = browser.post(reverse("invite"), invitation(), follow=True)
    assert "A letter with the link was sent to new@example.org" in text(answer)
    person = Person.objects.get(email="new@example.org")
    assert [row.role for row in person.memberships.all()] == [Role.PLANNER]
    (letter,) = mail.outbox
    link = re.search(r"/invitation/[\w-]+/", letter.body)
    assert link and letter.to == ["new@example.org"]
    assert link[0] not in answer.content.decode()
    assert "No password is set yet" in text(answer) and "Take the link back" in text(answer)
    browser.post(reverse("invitation-withdraw", args=[person.invitations.get().pk]))
    assert Browser().get(link[0]).status_code == 410


@pytest.mark.django_db(transaction=True)
def test_the_link_is_shown_once_where_no_letter_goes_out(firm, settings) -> None:
    settings.MAIL_URL = "smtp://127.0.0.1:9"
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # nobody listens there
    answer = quality(firm).post(reverse("invite"), invitation())
    link = re.search(r"/invitation/[\w-]+/", answer.content.decode())
    assert link and "no letter went out" in text(answer)
    assert Browser().get(link[0]).status_code == 200
    person = Person.objects.get(email="new@example.org")
    again = quality(firm).post(reverse("invite-again", args=[person.pk]))
    newer = re.search(r"/invitation/[\w-]+/", again.content.decode())
    assert newer and newer[0] != link[0]
    assert Browser().get(link[0]).status_code == 410


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"email": "known@example.org"}, "already known"),
        ({"email": "nothing"}, "no e-mail address"),
        ({"roles": []}, "at least one role"),
        ({"roles": [Role.AUDITOR]}, "give its last day"),
        ({"roles": [Role.FACILITY]}, "that the facility manager may look at"),
        ({"until": "2027-05-16"}, "ends before it begins"),
        ({"until": "12/03/2028"}, "is not a day"),
    ],
)
def test_an_invitation_that_lacks_something_is_told_so_and_kept(firm, more, said) -> None:
    make.PersonFactory(email="Known@example.org")
    answer = quality(firm).post(reverse("invite"), invitation(**more))
    assert said in text(answer, 422)
    assert "N. Newcomer" in answer.content.decode()
    assert not Person.objects.filter(email="new@example.org").exists()


@pytest.mark.parametrize("role", [Role.PLANNER, Role.REVIEWER])
def test_whoever_only_sees_people_is_shown_no_act(firm, role) -> None:
    person = member(firm, Role.INSPECTOR)
    browser = signed_in(member(firm, role))
    answer = browser.get(reverse("person", args=[person.pk]))
    assert "The quality manager and the authorised signatory change what stands here" in text(answer)
    for name in ("person-add-role", "person-authorise", "person-grant"):
        assert reverse(name, args=[person.pk]) not in answer.content.decode()
    assert reverse("invite") not in browser.get(reverse("people")).content.decode()
    assert browser.post(reverse("person-add-role", args=[person.pk])).status_code == 403


def test_the_last_who_may_change_people_is_not_ended(firm) -> None:
    person = member(firm, Role.QUALITY)
    browser, address = signed_in(person), reverse("role-end", args=[person.memberships.get().pk])
    assert "nobody of the firm could change people" in text(browser.post(address, {"until": TODAY}), 422)
    assert person.memberships.get().until is None
    member(firm, Role.SIGNATORY, since=date(2027, 5, 18))
    assert browser.post(address, {"until": TODAY}).status_code == 302
    assert person.memberships.get().until == date(2027, 5, 17)
