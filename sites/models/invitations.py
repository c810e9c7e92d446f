"""Invitations: a link by which somebody entered by others sets their own name and password, once."""

from datetime import datetime

from django.db import models
from django.db.models import Q

from sites.models.fact import Fact, Identified
from sites.models.people import Person
from sites.models.register import Firm


class InvitationQuerySet(models.QuerySet):
    def open(self, at: datetime) -> "InvitationQuerySet":
        """Those whose link still works; at its last moment it no longer does."""
        return self.filter(end__isnull=True, expires_at__gt=at)

    def unended(self) -> "InvitationQuerySet":
        """Neither accepted, replaced nor withdrawn, whether or not their time is over."""
        return self.filter(end__isnull=True)


class Invitation(Identified, Fact):
    """A link that was sent to a person. Only the hash of its secret is kept.

    token_hash: SHA-256 of the secret part of the link
    """

    person = models.ForeignKey(Person, models.PROTECT, related_name="invitations")
    firm = models.ForeignKey(Firm, models.PROTECT, related_name="invitations")
    token_hash = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    objects = InvitationQuerySet.as_manager()

    def state(self, at: datetime) -> str:
        """``open``, ``expired``, or how it ended."""
        if end := InvitationEnd.objects.filter(invitation=self).first():
            return end.how
        return "open" if self.expires_at > at else "expired"


class HowEnded(models.TextChoices):
    ACCEPTED = "accepted", "accepted"
    REPLACED = "replaced", "replaced by a newer one"
    WITHDRAWN = "withdrawn", "withdrawn"


class InvitationEnd(Fact):
    """What became of an invitation. There is one end at most, so no link is used twice."""

    invitation = models.OneToOneField(Invitation, models.PROTECT, related_name="end")
    how = models.CharField(max_length=12, choices=HowEnded)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(how__in=HowEnded.values), name="invitation_ends_in_a_known_way"
            )
        ]
