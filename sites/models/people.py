"""People, what they may do and see, and from when until when."""

import secrets
import uuid
from datetime import date

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q

from sites.fields import AddressField
from sites.models.fact import Record


class PersonManager(BaseUserManager["Person"]):
    def get_by_natural_key(self, email: str | None) -> "Person":
        """The person signing in: e-mail addresses are compared folded."""
        return self.get(email=email)


def _salt() -> str:
    return secrets.token_hex(16)


class Person(AbstractBaseUser):
    """Somebody who signs in by e-mail.

    contact_salt: seals the e-mail address in the log; erased together with it, which leaves the log whole
    """

    identity = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    email = AddressField(
        "e-mail address",
        max_length=254,
        unique=True,
        null=True,
        error_messages={"unique": "Somebody with this e-mail address is already known."},
    )
    name = models.CharField(max_length=120)
    contact_salt = models.CharField(max_length=32, default=_salt, editable=False)
    is_active = models.BooleanField(default=True)
    recorded_at = models.DateTimeField()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS = ["name"]
    objects = PersonManager()

    class Meta:
        verbose_name_plural = "people"

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    PLANNER = "planner", "planner"
    INSPECTOR = "inspector", "inspector"
    REVIEWER = "reviewing engineer", "reviewing engineer"
    SIGNATORY = "authorised signatory", "authorised signatory"
    QUALITY = "quality manager", "quality manager"
    FACILITY = "facility manager", "facility manager"
    AUDITOR = "auditor", "auditor"


# These see the whole firm; the others only what a scope row names.
WHOLE_FIRM_ROLES = (Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY)


class DatedQuerySet(models.QuerySet):
    def on(self, day: date) -> "DatedQuerySet":
        """Rows in force on a day; both end days count."""
        return self.not_ended(day).filter(since__lte=day)

    def not_ended(self, day: date) -> "DatedQuerySet":
        """Rows in force on a day or later."""
        return self.filter(Q(until__isnull=True) | Q(until__gte=day))


class Membership(Record):
    """One person in one role at one firm, from a day until a day (both included)."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="memberships")
    firm = models.ForeignKey("register.Firm", models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=24, choices=Role)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    objects = DatedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=models.F("since")),
                name="membership_ends_after_it_begins",
                violation_error_message="A membership cannot end before it begins.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.role} at {self.firm}"


class Scope(Record):
    """A client or a site that a membership reaches, from a day until a day (both included).

    by_assignment: the site was opened by an assignment to a visit there, and closes with the last one
    """

    membership = models.ForeignKey(Membership, models.PROTECT, related_name="scopes")
    client = models.ForeignKey("register.Client", models.PROTECT, null=True, blank=True)
    site = models.ForeignKey("register.Site", models.PROTECT, null=True, blank=True)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    by_assignment = models.BooleanField(default=False)

    objects = DatedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(client__isnull=False, site__isnull=True)
                | Q(client__isnull=True, site__isnull=False),
                name="scope_names_a_client_or_a_site",
                violation_error_message="Name either a client or a site.",
            )
        ]


class SystemKind(models.TextChoices):
    LIGHTNING = "lightning protection", "lightning protection"
    EARTHING = "earthing", "earthing"
    BONDING = "bonding", "bonding"
    SURGE = "surge protection", "surge protection"
    STATIC = "static bonding", "static bonding"


class VisitKind(models.TextChoices):
    FIRST = "first", "first (commissioning)"
    VISUAL = "visual", "visual"
    COMPLETE = "complete", "complete"
    ELECTRICAL = "electrical", "electrical"
    AFTER_EVENT = "after-event", "after event"
    RETEST = "re-test", "re-test"
    NO_ACCESS = "attended-no-access", "attended, no access"


class Authorisation(Record):
    """What a person may inspect and sign: a kind of system at a kind of visit, from a day until a day."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="authorisations")
    firm = models.ForeignKey("register.Firm", models.PROTECT, related_name="authorisations")
    system_kind = models.CharField(max_length=24, choices=SystemKind)
    visit_kind = models.CharField(max_length=24, choices=VisitKind)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    objects = DatedQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["person", "firm"], name="authorisation_person")]
