"""What is kept of attempts at signing in: a hash for ninety days, and entries in the log of a known person's firms."""

from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.utils.crypto import salted_hmac

from sites import log
from sites.fields import folded
from sites.models import Firm, Membership, Outcome, Person, SignInAttempt

KEPT = timedelta(days=90)
# While somebody is refused for too many attempts, one row in this time is enough.
THROTTLED_ONCE_IN = timedelta(minutes=5)


@transaction.atomic
def record_attempt(email: str, *, address: str, outcome: str, at: datetime) -> SignInAttempt | None:
    """An attempt that did not succeed. None where it adds nothing to the last of a run of refused ones.

    email: as typed; only its hash is kept
    """
    seal = email_seal(email)
    if outcome == Outcome.THROTTLED:
        lately = SignInAttempt.objects.filter(
            email_seal=seal, address=address, outcome=outcome, at__gt=at - THROTTLED_ONCE_IN
        )
        if lately.exists():
            return None
    person = Person.objects.filter(email=email).first()
    row = SignInAttempt.objects.create(
        at=at, email_seal=seal, address=address, outcome=outcome, person=person
    )
    if person is not None:
        facts = {"outcome": str(outcome), "address": log.sealed(person, address)}
        log_at_firms(person, "sign-in refused", by=None, at=at, facts=facts)
    return row


def record_sign_in(person: Person, *, address: str, at: datetime) -> SignInAttempt:
    """Somebody signed in."""
    return SignInAttempt.objects.create(
        at=at,
        email_seal=email_seal(person.email or ""),
        address=address,
        outcome=Outcome.SIGNED_IN,
        person=person,
    )


def forget_attempts(*, at: datetime) -> int:
    """Remove attempts older than ninety days. Returns: how many"""
    return SignInAttempt.objects.filter(at__lte=at - KEPT).delete()[0]


def forget_counts(*, at: datetime) -> int:
    """Remove counts whose time is over; the cache itself only does so once it is full. Returns: how many"""
    name, connection = settings.CACHES["default"]["LOCATION"], transaction.get_connection()
    table, over = connection.ops.quote_name(name), connection.ops.adapt_datetimefield_value(at)
    with connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {table} WHERE expires < %s", [over])  # noqa: S608 - a name of our settings
        return int(cursor.rowcount)


def email_seal(email: str) -> str:
    """An address as a hash under the installation's key, whatever its spelling: it can be asked for, not read."""
    return salted_hmac("downlead.attempts", folded(email), algorithm="sha256").hexdigest()


def log_at_firms(
    person: Person, action: str, *, by: Person | None, at: datetime, facts: dict[str, str] | None = None
) -> None:
    """An entry about a person in the log of each firm they belong to that day, in one order for all acts."""
    theirs = Membership.objects.on(at.date()).filter(person=person).values("firm")
    for firm in Firm.objects.filter(pk__in=theirs).order_by("pk"):
        log.record(firm, action, person, by=by, at=at, facts=dict(facts or {}))
