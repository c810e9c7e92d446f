"""Which firms demand a second factor, of whom, and who has one."""

from datetime import date
from typing import Any

from allauth.mfa.models import Authenticator
from django.db.models import OuterRef, QuerySet, Subquery

from sites.models import Firm, Membership, SecondFactorDemand


def demands(firm: Firm, *, on: date) -> bool:
    """Whether the firm demands a second factor on a day; the row recorded last holds."""
    last = _in_force(on).filter(firm=firm).values_list("demanded", flat=True).first()
    return bool(last)


def demanding_firms(person: Any, *, on: date) -> QuerySet[Firm]:
    """The person's firms that demand one on a day."""
    last = Subquery(_in_force(on).filter(firm=OuterRef("pk")).values("demanded")[:1])
    theirs = Membership.objects.on(on).filter(person=person).values("firm")
    return Firm.objects.filter(pk__in=theirs).annotate(demanded=last).filter(demanded=True)


def second_factors(person: Any) -> QuerySet[Authenticator]:
    """Authenticator app and passkeys, oldest first; recovery codes are none of their own."""
    kinds = (Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN)
    return Authenticator.objects.filter(user=person, type__in=kinds).order_by("created_at", "pk")


def lacks_second_factor(person: Any, *, on: date) -> bool:
    """Whether one of the person's firms demands what they do not have."""
    return demanding_firms(person, on=on).exists() and not second_factors(person).exists()


def _in_force(on: date) -> QuerySet[SecondFactorDemand]:
    return SecondFactorDemand.objects.filter(since__lte=on).order_by("-recorded_at", "-pk")
