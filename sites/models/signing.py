"""Signing in: attempts, and what a firm demands of its people."""

from django.db import models

from sites.models.fact import Fact, Identified
from sites.models.people import Person
from sites.models.register import Firm


class SecondFactorDemand(Identified, Fact):
    """From a day on, a firm demands a second factor of everybody who belongs to it, or no longer does.

    The row recorded last among those whose day has come holds.
    """

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="second_factor_demands")
    demanded = models.BooleanField()
    since = models.DateField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        verbose_name = "second factor demand"


class Outcome(models.TextChoices):
    SIGNED_IN = "signed in", "signed in"
    WRONG = "wrong", "wrong e-mail or password"
    WRONG_CODE = "wrong code", "second factor not accepted"
    THROTTLED = "throttled", "refused for too many attempts"


class SignInAttempt(models.Model):
    """One attempt at signing in. Not part of the record: kept for a time, then removed (``tidy_sign_ins``).

    email_seal: the address as a hash under the installation's key; what somebody typed is never kept
    person: whom the address belonged to, None for an address nobody has
    """

    at = models.DateTimeField(db_index=True)
    email_seal = models.CharField(max_length=64, db_index=True)
    address = models.GenericIPAddressField()
    outcome = models.CharField(max_length=12, choices=Outcome)
    person = models.ForeignKey(Person, models.CASCADE, null=True, related_name="sign_in_attempts")
