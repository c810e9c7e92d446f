"""Issued reports: the frozen facts, the files made from them, and what was said of them afterwards."""

from datetime import date

from django.db import models
from django.db.models import Exists, OuterRef

from inspections.models import Visit
from sites.models import Fact, Firm, Identified, Paper, Person, Structure


class IssueQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "IssueQuerySet":
        """Reports on structures this person may see on that day."""
        return self.filter(visit__structure__in=Structure.objects.visible_to(person, on=on).values("pk"))

    def with_life(self) -> "IssueQuerySet":
        """Each with what later rows make of it: ``replaced``, ``withdrawn``."""
        later = Issue.objects.filter(visit=OuterRef("visit"), issue__gt=OuterRef("issue"))
        withdrawals = IssueWithdrawal.objects.filter(issue=OuterRef("pk"))
        return self.annotate(replaced=Exists(later), withdrawn=Exists(withdrawals))

    def ready(self) -> "IssueQuerySet":
        """Reports whose file is attached: only these can be downloaded."""
        return self.filter(file__isnull=False)


class Issue(Fact, Identified):
    """What was stated in a report, frozen.

    number: the firm's running report number; issue: 1, or the next when a later one replaces it
    facts: canonical JSON; facts_sha256: of its UTF-8 bytes, printed in the report
    """

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="issues")
    visit = models.ForeignKey(Visit, models.PROTECT, related_name="issues")
    number = models.PositiveBigIntegerField()
    issue = models.PositiveSmallIntegerField(default=1)
    issued_at = models.DateTimeField()
    authorised_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    paper = models.CharField(max_length=6, choices=Paper)
    facts = models.TextField()
    facts_sha256 = models.CharField(max_length=64)

    objects = IssueQuerySet.as_manager()

    class Meta:
        ordering = ["-number", "-issue"]
        constraints = [
            models.UniqueConstraint(fields=["firm", "number", "issue"], name="report_number_once_a_firm"),
            models.UniqueConstraint(fields=["visit", "issue"], name="issue_once_a_visit"),
        ]

    def __str__(self) -> str:
        return f"report {self.number}, issue {self.issue}"


class IssueFile(Fact):
    """The PDF made from an issue's facts. Its bytes lie in the file store under their hash."""

    issue = models.OneToOneField(Issue, models.PROTECT, related_name="file")
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()


class IssueWithdrawal(Fact):
    """A report that is no longer to be relied on, and why. Its pages and its file remain, marked so."""

    issue = models.OneToOneField(Issue, models.PROTECT, related_name="withdrawal")
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")


class AmendmentProposal(Fact):
    """What somebody who reviews thinks an issued report gets wrong, for the signatory to decide."""

    issue = models.ForeignKey(Issue, models.PROTECT, related_name="proposals")
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["recorded_at", "pk"]
