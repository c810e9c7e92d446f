"""Inviting: entered without a password, a link that works once, for seven days."""

import hashlib
from datetime import date, timedelta

import pytest
from django.db import DatabaseError, transaction

from sites import log
from sites.actions.invitations import (
    HOLDS,
    InvitationOver,
    accept_invitation,
    invite,
    invite_again,
    with_secret,
    withdraw_invitation,
)
from sites.actions.people import PeopleRefused, erase_contact
from sites.models import Invitation, InvitationEnd, LogEntry, Membership, Person, Role, Scope, Site
from tests import factories as f
from tests.counting import nothing_saved
from tests.post import post  # noqa: F401

pytestmark = pytest.mark.django_db
SINCE = date(2027, 1, 4)
NEW = {"name": "Ada Nobody", "email": "ada@example.org", "roles": [Role.PLANNER], "since": SINCE}


def ask(firm=None, **changed):
    return invite(firm or f.FirmFactory(), **{**NEW, "by": f.PersonFactory(), "at": f.AT, **changed})


def secret_of(invited) -> str:
    return invited.link.rstrip("/").rpartition("/")[2]


def test_it_enters_somebody_without_a_password_in_their_roles() -> None:
    site = f.SiteFactory()
    invited = ask(
        site.client.firm,
        roles=[Role.PLANNER, Role.FACILITY],
        clients=[site.client],
        until=SINCE + timedelta(days=30),
    )
    person = Person.objects.get(email="ada@example.org")
    assert not person.has_usable_password()
    held = Membership.objects.filter(person=person, until=SINCE + timedelta(days=30)).order_by("pk")
    assert (
        [row.role for row in held] == [Role.PLANNER, Role.FACILITY] == [m.role for m in invited.memberships]
    )
    assert Scope.objects.get().membership.role == Role.FACILITY
    assert list(log.faults(site.client.firm)) == []


def test_it_lets_a_role_reach_single_sites() -> None:
    site = f.SiteFactory()
    invited = ask(site.client.firm, roles=[Role.INSPECTOR], sites=[site])
    f.SiteFactory(client=site.client)
    assert list(Site.objects.visible_to(invited.person, on=SINCE)) == [site]


def test_it_keeps_neither_the_secret_nor_the_address_in_the_clear() -> None:
    invited = ask()
    secret = secret_of(invited)
    assert len(secret) >= 43
    assert Invitation.objects.get().token_hash == hashlib.sha256(secret.encode()).hexdigest()
    told = "".join(LogEntry.objects.values_list("payload", flat=True))
    assert secret not in told
    assert "ada@example.org" not in told


def test_it_mails_the_link_after_the_commit(post, django_capture_on_commit_callbacks) -> None:  # noqa: F811
    with django_capture_on_commit_callbacks(execute=True):
        invited = ask()
        assert post.letters == []
    assert invited.mailed is True
    assert post.letters[0]["To"] == "ada@example.org"
    assert invited.link in post.text()
    assert "11 Jan 2027, 08:00" in post.text()


@pytest.mark.django_db(transaction=True)
def test_it_mails_nothing_where_the_act_was_undone(post) -> None:  # noqa: F811
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        ask()
        raise ZeroDivisionError
    assert post.letters == []
    assert not Person.objects.filter(email="ada@example.org").exists()


def test_it_says_so_where_the_letter_could_not_be_sent(post, django_capture_on_commit_callbacks) -> None:  # noqa: F811
    post.refuse = "550 no such box"
    with django_capture_on_commit_callbacks(execute=True):
        invited = ask()
    assert invited.mailed is False


def test_it_says_so_where_there_is_no_mail_server(settings, django_capture_on_commit_callbacks) -> None:
    settings.MAIL_URL = ""
    with django_capture_on_commit_callbacks(execute=True):
        invited = ask()
    assert invited.mailed is False


def test_it_refuses_an_invitation_without_a_role_or_to_a_known_address() -> None:
    firm, by = f.FirmFactory(), f.PersonFactory(email="ADA@example.org")
    with nothing_saved():
        with pytest.raises(PeopleRefused, match="at least one role"):
            invite(firm, **{**NEW, "roles": []}, by=by, at=f.AT)
        with pytest.raises(PeopleRefused, match="already known"):
            invite(firm, **NEW, by=by, at=f.AT)


def test_it_sets_name_and_password_once() -> None:
    invited = ask()
    found = with_secret(secret_of(invited))
    assert found == invited.invitation
    person = accept_invitation(found, name=" Ada Lovage ", password=f.PASSWORD, at=f.AT)
    person.refresh_from_db()
    assert person.name == "Ada Lovage"
    assert person.check_password(f.PASSWORD)
    assert found.state(f.AT) == "accepted"
    with nothing_saved(), pytest.raises(InvitationOver):
        accept_invitation(found, name="Somebody else", password="another-long-password", at=f.AT)
    person.refresh_from_db()
    assert person.check_password(f.PASSWORD)
    assert LogEntry.objects.order_by("number").last().action == "invitation accepted"


def test_it_ends_after_seven_days_and_the_last_moment_is_too_late() -> None:
    invited = ask()
    before = f.AT + HOLDS - timedelta(microseconds=1)
    assert (invited.invitation.state(before), invited.invitation.state(f.AT + HOLDS)) == ("open", "expired")
    with nothing_saved(), pytest.raises(InvitationOver):
        accept_invitation(invited.invitation, name="Ada", password=f.PASSWORD, at=f.AT + HOLDS)
    accept_invitation(invited.invitation, name="Ada", password=f.PASSWORD, at=before)


def test_it_replaces_the_link_when_invited_again() -> None:
    first = ask()
    firm, by = first.invitation.firm, first.invitation.by
    second = invite_again(first.person, firm=firm, by=by, at=f.AT + timedelta(days=9))
    assert first.invitation.state(f.AT) == "replaced"
    with pytest.raises(InvitationOver):
        accept_invitation(first.invitation, name="Ada", password=f.PASSWORD, at=f.AT + timedelta(days=9))
    accept_invitation(second.invitation, name="Ada", password=f.PASSWORD, at=f.AT + timedelta(days=10))
    with nothing_saved(), pytest.raises(PeopleRefused, match="has set a password"):
        invite_again(first.person, firm=firm, by=by, at=f.AT + timedelta(days=11))


def test_it_invites_again_only_who_belongs_to_the_firm() -> None:
    invited, other = ask(), f.FirmFactory()
    with nothing_saved(), pytest.raises(PeopleRefused, match="does not belong"):
        invite_again(invited.person, firm=other, by=invited.invitation.by, at=f.AT)


def test_it_invites_nobody_again_who_cannot_be_reached_any_more() -> None:
    invited = ask(until=SINCE + timedelta(days=30))
    firm, by, later = invited.invitation.firm, invited.invitation.by, f.AT + timedelta(days=400)
    erase_contact(invited.person, firm=firm, by=by, at=later)
    with nothing_saved(), pytest.raises(PeopleRefused, match="was forgotten, so no link can be sent"):
        invite_again(invited.person, firm=firm, by=by, at=later)


def test_it_withdraws_an_invitation() -> None:
    invited = ask()
    withdraw_invitation(invited.invitation, by=invited.invitation.by, at=f.AT)
    assert invited.invitation.state(f.AT) == "withdrawn"
    with pytest.raises(InvitationOver):
        accept_invitation(invited.invitation, name="Ada", password=f.PASSWORD, at=f.AT)
    with nothing_saved(), pytest.raises(PeopleRefused, match="already"):
        withdraw_invitation(invited.invitation, by=invited.invitation.by, at=f.AT)


def test_it_lets_nobody_in_whose_contact_was_erased() -> None:
    invited = ask()
    Person.objects.filter(pk=invited.person.pk).update(email=None, is_active=False)
    with nothing_saved(), pytest.raises(InvitationOver):
        accept_invitation(invited.invitation, name="Ada", password=f.PASSWORD, at=f.AT)


@pytest.mark.django_db(transaction=True)
def test_the_database_itself_ends_an_invitation_once() -> None:
    invited = ask()
    end = {"invitation": invited.invitation, "by": invited.person, "recorded_at": f.AT}
    InvitationEnd.objects.create(how="accepted", **end)
    with pytest.raises(DatabaseError), transaction.atomic():
        InvitationEnd.objects.create(how="accepted", **end)
    with pytest.raises(DatabaseError), transaction.atomic():
        Invitation.objects.update(expires_at=f.AT)
