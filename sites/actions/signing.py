"""A person's own sign-in: password, second factors, and what a firm demands."""

from datetime import date, datetime

from allauth.mfa.models import Authenticator
from django.contrib.auth.tokens import default_token_generator
from django.db import transaction

from sites import log
from sites.access import CHANGE_PEOPLE, may
from sites.actions.attempts import log_at_firms
from sites.actions.sign_in_letters import BY_LINK, ON_SERVER, SIGNED_IN, done_by, tell_by_letter
from sites.models import Firm, Membership, Person, SecondFactorDemand
from sites.signing.demands import demands
from sites.signing.sessions import end_sessions

KINDS = {
    Authenticator.Type.TOTP: "authenticator app",
    Authenticator.Type.WEBAUTHN: "passkey",
    Authenticator.Type.RECOVERY_CODES: "recovery codes",
}

# What became of one of them, as a letter says it.
CHANGED = {
    ("added", "authenticator app"): "An authenticator app was added to your sign-in to Downlead.",
    ("added", "passkey"): "A passkey was added to your sign-in to Downlead.",
    ("removed", "authenticator app"): "The authenticator app was removed from your sign-in to Downlead.",
    ("removed", "passkey"): "A passkey was removed from your sign-in to Downlead.",
    (
        "renewed",
        "recovery codes",
    ): "New recovery codes were made for your sign-in to Downlead; older ones no longer work.",
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
    person = Person.objects.select_for_update(no_key=True).get(pk=person.pk)
    person.set_password(password)
    person.save(update_fields=["password"])
    end_sessions(person, but=session)
    told = "The password of your sign-in to Downlead was changed. Every other session has ended."
    tell_by_letter(person, told, how=SIGNED_IN, at=at)
    log_at_firms(person, "password changed", by=person, at=at)
    return person


@transaction.atomic
def renew_password(person: Person, *, token: str, password: str, at: datetime) -> Person:
    """A new password by a link that was mailed; every session ends. Raises: LinkOver"""
    person = Person.objects.select_for_update(no_key=True).get(pk=person.pk)
    if not person.is_active or not default_token_generator.check_token(person, token):
        raise LinkOver
    person.set_password(password)
    person.save(update_fields=["password"])
    end_sessions(person)
    told = "A new password was set for your sign-in to Downlead. Every session has ended."
    tell_by_letter(person, told, how=BY_LINK, at=at)
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
    told = f"{CHANGED[what, facts['kind']]} Every other session has ended."
    tell_by_letter(person, told, how=SIGNED_IN, at=at)
    log_at_firms(person, f"second factor {what}", by=person, at=at, facts=facts)


@transaction.atomic
def remove_second_factors(person: Person, *, by: Person | None, at: datetime, reason: str = "") -> int:
    """Take away every second factor of somebody who has lost theirs, and end their sessions.

    by: None for the command on the server itself
    reason: why, and how it was made sure that it is they who ask; it stands in the log and in the letter
    Returns: how many. Raises: SigningRefused where there is none, for one's own, and for somebody of another firm
    """
    _require_may_remove(person, by, at)
    found = Authenticator.objects.select_for_update(no_key=True).filter(user=person)
    count = len(found)
    if not count:
        raise SigningRefused(f"{person} has no second factor.")
    found.delete()
    end_sessions(person)
    told = (
        "Every second factor of your sign-in to Downlead was removed: apps, passkeys and recovery codes. "
        "Every session has ended."
    )
    tell_by_letter(person, told, how=done_by(by) if by else ON_SERVER, at=at, reason=reason)
    facts = {"reason": reason} if reason else None
    log_at_firms(person, "second factors removed", by=by, at=at, facts=facts)
    return count


def _require_may_remove(person: Person, by: Person | None, at: datetime) -> None:
    """One's own are removed after saying the password again; another firm's protection is not this firm's to lift."""
    if by is None:
        return
    if by == person:
        raise SigningRefused("Remove your own at “Your sign-in”, where you are asked for your password.")
    theirs = Membership.objects.on(at.date()).filter(person=person)
    if not all(may(by, CHANGE_PEOPLE, firm, on=at.date()) for firm in theirs.values_list("firm", flat=True)):
        raise SigningRefused(
            f"Only whoever runs the server can do this for {person}, by the command remove_second_factors."
        )


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
