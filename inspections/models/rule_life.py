"""What becomes of a rule after it was stated: proposed, decided upon, dispensed with; and where none is required."""

from datetime import datetime

from django.db import models
from django.db.models import Exists, OuterRef, Q

from inspections.models.rule import IntervalRule, LimitRule
from sites.models import Client, Fact, Identified, Person, Site, Structure

ONE_EDITION = Q(limit__isnull=False, interval__isnull=True) | Q(limit__isnull=True, interval__isnull=False)


class Proposal(Fact):
    """Who brought an edition forward, and why. An edition that came with a file has none: its file tells."""

    limit = models.OneToOneField(LimitRule, models.PROTECT, null=True, related_name="proposal")
    interval = models.OneToOneField(IntervalRule, models.PROTECT, null=True, related_name="proposal")
    words = models.CharField(max_length=600, blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=ONE_EDITION, name="proposal_of_one_edition")]


class Decision(Fact):
    """An approver's answer to a proposal: it may be adopted, or it may not, and why."""

    limit = models.OneToOneField(LimitRule, models.PROTECT, null=True, related_name="decided")
    interval = models.OneToOneField(IntervalRule, models.PROTECT, null=True, related_name="decided")
    approved = models.BooleanField()
    words = models.CharField(max_length=600, blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=ONE_EDITION, name="decision_on_one_edition")]


class DispensationQuerySet(models.QuerySet):
    def standing(self, known_by: datetime | None = None) -> "DispensationQuerySet":
        """Those not withdrawn; with an instant, as the record knew them then."""
        withdrawn = DispensationWithdrawal.objects.filter(dispensation=OuterRef("pk"))
        rows = self
        if known_by is not None:
            withdrawn = withdrawn.filter(recorded_at__lte=known_by)
            rows = rows.filter(recorded_at__lte=known_by)
        return rows.filter(~Exists(withdrawn))


class Dispensation(Fact, Identified):
    """The author of an interval allows more time: the rule is not shown as overdue up to ``until``, that day included.

    client, site, structure: where it holds; none of them where it holds wherever the rule stands
    document: the text that names the paper it stands in
    given_by, given_on: who gave it for the rule's author, and the day it was given
    """

    interval = models.ForeignKey(IntervalRule, models.PROTECT, related_name="dispensations")
    client = models.ForeignKey(Client, models.PROTECT, null=True, blank=True, related_name="+")
    site = models.ForeignKey(Site, models.PROTECT, null=True, blank=True, related_name="+")
    structure = models.ForeignKey(Structure, models.PROTECT, null=True, blank=True, related_name="+")
    until = models.DateField()
    document = models.CharField(max_length=300)
    given_by = models.CharField(max_length=200)
    given_on = models.DateField()
    words = models.CharField(max_length=600, blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    objects = DispensationQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(until__gte=models.F("given_on")), name="dispensation_ends_after_it_was_given"
            )
        ]

    def holds_at(self, structure: Structure) -> bool:
        """Whether it reaches this structure."""
        return self.reaches(client=structure.site.client_id, site=structure.site_id, structure=structure.pk)

    def reaches(self, *, client: int, site: int, structure: int) -> bool:
        """Whether it reaches the structure with these ids of its own, its site and its client."""
        return (
            self.structure_id in (None, structure)
            and self.site_id in (None, site)
            and self.client_id in (None, client)
        )

    def was_known(self, before: datetime | None) -> bool:
        """Whether it counted as the record knew it before an instant; None: as it knows it now."""
        ended = getattr(self, "withdrawal", None)
        if before is None:
            return ended is None
        return self.recorded_at < before and (ended is None or ended.recorded_at >= before)


class DispensationWithdrawal(Fact):
    """A dispensation counts no more; why."""

    dispensation = models.OneToOneField(Dispensation, models.PROTECT, related_name="withdrawal")
    words = models.CharField(max_length=600)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")


class NoneRequiredQuerySet(models.QuerySet):
    def latest_of(self, structure: models.F | OuterRef | int) -> "NoneRequiredQuerySet":
        """What was said last of a structure, first."""
        return self.filter(structure=structure).order_by("-recorded_at", "-pk")


class NoneRequired(Fact):
    """Somebody answers for it that a structure needs no inspection, or takes that back. The last row holds.

    stands: False where it is taken back; since: the day from which it is so
    """

    structure = models.ForeignKey(Structure, models.PROTECT, related_name="none_required")
    stands = models.BooleanField(default=True)
    since = models.DateField()
    words = models.CharField(max_length=600)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    objects = NoneRequiredQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["structure", "recorded_at"], name="none_required_last")]
