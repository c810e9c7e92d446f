"""A person's own sign-in: password, second factors, and what a firm demands."""

from datetime import date, datetime

from allauth.mfa.models import Authenticator
from django.contrib.auth.tokens import default_token_generator
from django.db import transaction

from sites import log
from sites.actions.attempts import log_at_firms
from sites.models import Firm, Person, SecondFactorDemand
from sites.signing.demands import demands
from sites.signing.sessions import end_sessions

KINDS = {
    Authenticator.Type.TOTP: "authenticator app",
    Authenticator.Type.WEBAUTHN: "passkey",
    Authenticator.Type.RECOVERY_CODES: "recovery codes",
}


class SigningRefused(Exception):
    """Something about signing in that cannot be done, with the sentence for who asked."""


class LinkOver(SigningRefused):
    """A link for a new password that was used already, or whose time is over."""

    def __init__(self) -> None:
        super().__init__("This link can no longer be used. Ask for a new one.")


@transaction.atomic
def change_password(person: Person, *, password: str, session: str | None, at: datetime) -> Person:
    """A new password; every other session ends. session: the key of the one that stays"""
    person = Person.objects.select_for_update().get(pk=person.pk)
    person.set_password(password)
    person.save(update_fields=["password"])
    end_sessions(person, but=session)
    log_at_firms(person, "password changed", by=person, at=at)
    return person


@transaction.atomic
def renew_password(person: Person, *, token: str, password: str, at: datetime) -> Person:
    """A new password by a link that was mailed; every session ends. Raises: LinkOver"""
    person = Person.objects.select_for_update().get(pk=person.pk)
    if not person.is_active or not default_token_generator.check_token(person, token):
        raise LinkOver
    person.set_password(password)
    person.save(update_fields=["password"])
    end_sessions(person)
    log_at_firms(person, "password renewed by a mailed link", by=person, at=at)
    return person


@transaction.atomic
def tell_second_factor(
    person: Person, what: str, factor: Authenticator, *, session: str | None, at: datetime
) -> None:
    """What became of a second factor, in the log of the person's firms; every other session ends.

    what: "added", "removed" or "renewed"
    """
    end_sessions(person, but=session)
    facts = {"kind": KINDS[Authenticator.Type(factor.type)]}
    log_at_firms(person, f"second factor {what}", by=person, at=at, facts=facts)


@transaction.atomic
def remove_second_factors(person: Person, *, by: Person | None, at: datetime) -> int:
    """Take away every second factor of somebody who has lost theirs, and end their sessions.

    by: None for the command on the server itself. Returns: how many. Raises: SigningRefused where there is none
    """
    found = Authenticator.objects.select_for_update().filter(user=person)
    count = len(found)
    if not count:
        raise SigningRefused(f"{person} has no second factor.")
    found.delete()
    end_sessions(person)
    log_at_firms(person, "second factors removed", by=by, at=at)
    return count


@transaction.atomic
def demand_second_factor(
    firm: Firm, *, demanded: bool, since: date, by: Person, at: datetime
) -> SecondFactorDemand:
    """From a day on, everybody of the firm needs a second factor, or no longer does. Raises: SigningRefused"""
    if since < at.date():
        raise SigningRefused("Give today or a later day: nobody can be asked for it in the past.")
    if demands(firm, on=since) == demanded:
        state = "demands a second factor already" if demanded else "does not demand a second factor"
        raise SigningRefused(f"{firm} {state}.")
    row = SecondFactorDemand.objects.create(firm=firm, demanded=demanded, since=since, by=by, recorded_at=at)
    action = "second factor demanded" if demanded else "second factor no longer demanded"
    log.record(firm, action, row, by=by, at=at, facts={"since": since.isoformat()})
    return row
