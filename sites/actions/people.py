"""People: who they are, what they may do and see, and forgetting how to reach them."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from allauth.mfa.models import Authenticator
from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.db.models import Q

from sites import log
from sites.access import CHANGE_PEOPLE, MAY
from sites.locks import lock_firm
from sites.models import Authorisation, Client, Firm, Membership, Person, Role, Scope, SignInAttempt, Site
from sites.models.people import _salt
from sites.signing.sessions import end_sessions


class PeopleRefused(Exception):
    """Something that cannot be entered about a person, with the sentence for who entered it."""


@transaction.atomic
def create_person(
    firm: Firm, *, name: str, email: str, by: Person | None, at: datetime, password: str | None = None
) -> Person:
    """Somebody who signs in by e-mail; without a password, once one has been set.

    firm: in whose log it is entered; ``by`` is None while nobody belongs to the firm yet
    """
    person = Person(name=name, email=email, recorded_at=at)
    person.set_password(password)
    _keep(person, exclude=["password"])
    facts = {"name": name, "contact": log.sealed(person, email)}
    log.record(firm, "person created", person, by=by, at=at, facts=facts)
    return person


@transaction.atomic
def create_membership(
    person: Person,
    *,
    firm: Firm,
    role: str,
    since: date,
    by: Person | None,
    at: datetime,
    until: date | None = None,
) -> Membership:
    """A role at a firm, from a day until a day (both included).

    Raises: PeopleRefused, also for an auditor without a last day and for a role held on some of these days already
    """
    lock_firm(firm.pk)
    if role == Role.AUDITOR and until is None:
        raise PeopleRefused("An auditor’s grant ends by itself: give its last day.")
    held = Membership.objects.filter(person=person, firm=firm, role=role)
    if _overlapping(held, since, until).exists():
        raise PeopleRefused(f"{person} already is {role} on some of these days.")
    row = Membership(person=person, firm=firm, role=role, since=since, until=until, recorded_at=at)
    _keep(row)
    facts = {"person": str(person.identity), "role": str(role), **_days(since, until)}
    log.record(firm, "membership created", row, by=by, at=at, facts=facts)
    return row


@transaction.atomic
def create_scope(
    membership: Membership,
    *,
    since: date,
    by: Person,
    at: datetime,
    client: Client | None = None,
    site: Site | None = None,
    until: date | None = None,
) -> Scope:
    """What a membership reaches: a client or one site of the same firm.

    What an assignment opened is beside this: it closes with the assignment, and what is given here does not.
    Raises: PeopleRefused, also for a place that the membership was given on some of these days already
    """
    membership = Membership.objects.select_for_update(of=("self",), no_key=True).get(pk=membership.pk)
    reached = client or (site.client if site else None)
    if reached is not None and reached.firm_id != membership.firm_id:
        raise PeopleRefused("This membership reaches only clients and sites of its own firm.")
    place = client or site
    there = Scope.objects.filter(membership=membership, client=client, site=site, by_assignment=False)
    if place is not None and _overlapping(there, since, until).exists():
        raise PeopleRefused(
            f"{membership.person} reaches {place} as {membership.role} on some of these days already. "
            "Give other days, or end that reach first."
        )
    row = Scope(membership=membership, client=client, site=site, since=since, until=until, recorded_at=at)
    _keep(row)
    facts = {
        "person": str(membership.person.identity),
        "reaches": {"kind": log.kind_of(place), "identity": str(place.identity)} if place else None,
        **_days(since, until),
    }
    log.record(membership.firm, "scope created", row, by=by, at=at, facts=facts)
    return row


@transaction.atomic
def create_authorisation(
    person: Person,
    *,
    firm: Firm,
    system_kind: str,
    visit_kind: str,
    since: date,
    by: Person,
    at: datetime,
    until: date | None = None,
) -> Authorisation:
    """That a person may inspect and sign a kind of system at a kind of visit. Raises: PeopleRefused"""
    if not Membership.objects.filter(person=person, firm=firm).exists():
        raise PeopleRefused(f"{person} does not belong to {firm}. Enter the membership first.")
    row = Authorisation(
        person=person,
        firm=firm,
        system_kind=system_kind,
        visit_kind=visit_kind,
        since=since,
        until=until,
        recorded_at=at,
    )
    _keep(row)
    facts = {
        "person": str(person.identity),
        "system_kind": str(system_kind),
        "visit_kind": str(visit_kind),
        **_days(since, until),
    }
    log.record(firm, "authorisation created", row, by=by, at=at, facts=facts)
    return row


@transaction.atomic
def end_membership(membership: Membership, *, until: date, by: Person, at: datetime) -> Membership:
    """The last day of a membership; what it reached ends with it. Raises: PeopleRefused"""
    lock_firm(membership.firm_id)
    membership = Membership.objects.select_for_update(of=("self",), no_key=True).get(pk=membership.pk)
    if membership.role == Role.AUDITOR and membership.until and until > membership.until:
        raise PeopleRefused("A grant to an auditor is not made longer. Give a new one.")
    _end(membership, until, "A membership cannot end before it begins.")
    if membership.role in MAY[CHANGE_PEOPLE]:
        _require_somebody_left(membership, until)
    facts = {"person": str(membership.person.identity), "role": membership.role, "until": until.isoformat()}
    log.record(membership.firm, "membership ended", membership, by=by, at=at, facts=facts)
    return membership


@transaction.atomic
def grant_audit(
    person: Person,
    *,
    firm: Firm,
    since: date,
    until: date,
    by: Person,
    at: datetime,
    clients: Sequence[Client] = (),
    sites: Sequence[Site] = (),
) -> Membership:
    """Lets somebody look at some clients and sites as an auditor, until a last day on which it ends by itself.

    Raises: PeopleRefused
    """
    if not clients and not sites:
        raise PeopleRefused("Name at least one client or site that the auditor may look at.")
    member = create_membership(person, firm=firm, role=Role.AUDITOR, since=since, until=until, by=by, at=at)
    for client in clients:
        create_scope(member, client=client, since=since, until=until, by=by, at=at)
    for site in sites:
        create_scope(member, site=site, since=since, until=until, by=by, at=at)
    return member


@transaction.atomic
def end_scope(scope: Scope, *, until: date, by: Person, at: datetime) -> Scope:
    """The last day on which a membership reaches a client or a site. Raises: PeopleRefused"""
    found = Scope.objects.select_for_update(of=("self",), no_key=True).get(pk=scope.pk)
    _end(found, until, "This cannot end before it begins.")
    member = found.membership
    facts = {"person": str(member.person.identity), "until": until.isoformat()}
    log.record(member.firm, "scope ended", found, by=by, at=at, facts=facts)
    return found


@transaction.atomic
def end_authorisation(row: Authorisation, *, until: date, by: Person, at: datetime) -> Authorisation:
    """The last day of an authorisation; what was done under it until then stays. Raises: PeopleRefused"""
    found = Authorisation.objects.select_for_update(of=("self",), no_key=True).get(pk=row.pk)
    _end(found, until, "An authorisation cannot end before it begins.")
    facts = {
        "person": str(found.person.identity),
        "system_kind": found.system_kind,
        "visit_kind": found.visit_kind,
        "until": until.isoformat(),
    }
    log.record(found.firm, "authorisation ended", found, by=by, at=at, facts=facts)
    return found


@transaction.atomic
def erase_contact(person: Person, *, firm: Firm, by: Person, at: datetime) -> Person:
    """Forget a person's e-mail address and the salt that sealed it, and let nobody sign in as them.

    The log of every firm stays whole: it holds only the sealed address, which nothing can confirm any more.
    Raises: PeopleRefused while they still belong to a firm
    """
    person = Person.objects.select_for_update(no_key=True).get(pk=person.pk)
    if Membership.objects.on(at.date()).filter(person=person).exists():
        raise PeopleRefused(f"{person} still belongs to a firm. End the membership first.")
    person.email, person.is_active = None, False
    person.contact_salt = _salt()
    person.set_unusable_password()
    person.save(update_fields=["email", "is_active", "contact_salt", "password"])
    Authenticator.objects.filter(user=person).delete()
    SignInAttempt.objects.filter(person=person).delete()
    end_sessions(person)
    log.record(firm, "contact erased", person, by=by, at=at)
    return person


def _end(row: Membership | Scope | Authorisation, until: date, too_early: str) -> None:
    if until < row.since:
        raise PeopleRefused(too_early)
    row.until = until
    row.save(update_fields=["until"])


def _require_somebody_left(ended: Membership, until: date) -> None:
    """A firm keeps somebody who may change people, or nobody could give the role again."""
    others = Membership.objects.filter(firm=ended.firm, role__in=MAY[CHANGE_PEOPLE], person__is_active=True)
    if not _overlapping(others, until + timedelta(days=1), until + timedelta(days=1)).exists():
        raise PeopleRefused(
            "After that day nobody of the firm could change people any more. Give the role to somebody else first."
        )


def _overlapping(rows: models.QuerySet, since: date, until: date | None) -> models.QuerySet:
    """Those of the dated rows that share a day with these days, both ends included."""
    found = rows.filter(Q(until__isnull=True) | Q(until__gte=since))
    return found if until is None else found.filter(since__lte=until)


def _keep(row: models.Model, exclude: list[str] | None = None) -> None:
    try:
        row.full_clean(exclude=exclude)
    except ValidationError as fault:
        raise PeopleRefused(" ".join(fault.messages)) from fault
    row.save(force_insert=True)


def _days(since: date, until: date | None) -> dict[str, str | None]:
    return {"since": since.isoformat(), "until": until.isoformat() if until else None}
