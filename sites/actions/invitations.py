"""Inviting somebody who then sets their own password: by a link that works once, for seven days."""

import hashlib
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.conf import settings
from django.db import IntegrityError, transaction
from django.urls import reverse

from sites import log, mail
from sites.actions.people import PeopleRefused, create_membership, create_person, create_scope
from sites.locks import lock_firm
from sites.models import (
    WHOLE_FIRM_ROLES,
    Client,
    Firm,
    HowEnded,
    Invitation,
    InvitationEnd,
    Membership,
    Person,
    Site,
)

HOLDS = timedelta(days=7)


class InvitationOver(Exception):
    """The link was used, replaced, withdrawn, or its time is over. The text does not tell which."""

    def __init__(self) -> None:
        super().__init__("This invitation can no longer be used. Ask whoever invited you to send it again.")


@dataclass
class Invited:
    """What an invitation made.

    link: the whole address, known only now. Show it to whoever invited where ``mailed`` is False
    mailed: whether the mail server took the letter; None until the transaction is committed
    """

    person: Person
    invitation: Invitation
    link: str
    memberships: list[Membership]
    mailed: bool | None = None


@transaction.atomic
def invite(
    firm: Firm,
    *,
    email: str,
    name: str,
    roles: Sequence[str],
    since: date,
    by: Person,
    at: datetime,
    until: date | None = None,
    clients: Sequence[Client] = (),
    sites: Sequence[Site] = (),
) -> Invited:
    """Enter somebody without a password, in one or more roles, and send them the link to set one.

    since, until: the days of the memberships and of what they reach (both included)
    clients, sites: what the roles reach that do not see the whole firm
    Raises: PeopleRefused, also where the address is known already
    """
    if not roles:
        raise PeopleRefused("Give at least one role.")
    lock_firm(firm.pk)
    person = create_person(firm, name=name, email=email, by=by, at=at)
    memberships = []
    for role in dict.fromkeys(roles):
        member = create_membership(person, firm=firm, role=role, since=since, until=until, by=by, at=at)
        memberships.append(member)
        if role in WHOLE_FIRM_ROLES:
            continue
        for client in clients:
            create_scope(member, client=client, since=since, until=until, by=by, at=at)
        for site in sites:
            create_scope(member, site=site, since=since, until=until, by=by, at=at)
    return _send(person, firm, memberships, by=by, at=at)


@transaction.atomic
def invite_again(person: Person, *, firm: Firm, by: Person, at: datetime) -> Invited:
    """Another link, which replaces those before it.

    Raises: PeopleRefused once a password has been set, or where nobody can be reached any more
    """
    person = Person.objects.select_for_update(no_key=True).get(pk=person.pk)
    if person.email is None or not person.is_active:
        raise PeopleRefused(
            f"How to reach {person} was forgotten, so no link can be sent or used. Invite them anew with their address."
        )
    if person.has_usable_password():
        raise PeopleRefused(
            f"{person} has set a password already. A forgotten one is renewed at the sign-in."
        )
    memberships = list(Membership.objects.filter(person=person, firm=firm).order_by("pk"))
    if not memberships:
        raise PeopleRefused(f"{person} does not belong to {firm}. Enter the membership first.")
    return _send(person, firm, memberships, by=by, at=at)


@transaction.atomic
def withdraw_invitation(invitation: Invitation, *, by: Person, at: datetime) -> None:
    """From now on the link does not work. The memberships stay; they are ended on their own.

    Raises: PeopleRefused where the invitation has ended already
    """
    invitation = Invitation.objects.select_for_update(of=("self",), no_key=True).get(pk=invitation.pk)
    if InvitationEnd.objects.filter(invitation=invitation).exists():
        raise PeopleRefused("This invitation was accepted, replaced or withdrawn already.")
    InvitationEnd.objects.create(invitation=invitation, how=HowEnded.WITHDRAWN, by=by, recorded_at=at)
    facts = {"person": str(invitation.person.identity)}
    log.record(invitation.firm, "invitation withdrawn", invitation, by=by, at=at, facts=facts)


def accept_invitation(invitation: Invitation, *, name: str, password: str, at: datetime) -> Person:
    """Set the invited person's name and password; the link is used up. Raises: InvitationOver"""
    try:
        return _accept(invitation, name=name, password=password, at=at)
    except IntegrityError as twice:  # somebody else was quicker with the same link
        raise InvitationOver from twice


@transaction.atomic
def _accept(invitation: Invitation, *, name: str, password: str, at: datetime) -> Person:
    person = Person.objects.select_for_update(no_key=True).get(pk=invitation.person_id)
    open_still = Invitation.objects.open(at).filter(pk=invitation.pk).exists()
    # Once a password is set, by whatever link, an invitation must not set another.
    if not open_still or not person.is_active or person.email is None or person.has_usable_password():
        raise InvitationOver
    InvitationEnd.objects.create(invitation=invitation, how=HowEnded.ACCEPTED, by=person, recorded_at=at)
    was, person.name = person.name, name.strip()
    person.set_password(password)
    person.save(update_fields=["name", "password"])
    facts = {"person": str(person.identity), "was": was, "is": person.name}
    log.record(invitation.firm, "invitation accepted", invitation, by=person, at=at, facts=facts)
    return person


def with_secret(secret: str) -> Invitation | None:
    """The invitation whose link carries this secret, whatever became of it."""
    return Invitation.objects.select_related("person", "firm", "by").filter(token_hash=_hash(secret)).first()


def _send(person: Person, firm: Firm, memberships: list[Membership], *, by: Person, at: datetime) -> Invited:
    for earlier in Invitation.objects.unended().filter(person=person).order_by("pk"):
        InvitationEnd.objects.create(invitation=earlier, how=HowEnded.REPLACED, by=by, recorded_at=at)
    secret = secrets.token_urlsafe(32)
    invitation = Invitation.objects.create(
        person=person, firm=firm, token_hash=_hash(secret), expires_at=at + HOLDS, by=by, recorded_at=at
    )
    link = f"{settings.PUBLIC_URL.rstrip('/')}{reverse('invitation', args=[secret])}"
    invited = Invited(person, invitation, link, memberships)
    facts = {
        "person": str(person.identity),
        "contact": log.sealed(person, person.email or ""),
        "expires_at": log.instant_text(invitation.expires_at),
    }
    log.record(firm, "person invited", invitation, by=by, at=at, facts=facts)
    transaction.on_commit(lambda: _mail(invited, by))
    return invited


def _mail(invited: Invited, by: Person) -> None:
    invitation = invited.invitation
    facts = {
        "name": invited.person.name,
        "by": by.name,
        "firm": invitation.firm.name,
        "link": invited.link,
        "expires_at": invitation.expires_at,
    }
    subject = f"Your sign-in at {invitation.firm.name}"
    invited.mailed = mail.send(
        invited.person.email or "", subject=subject, template="mail/invitation.txt", facts=facts
    )


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
