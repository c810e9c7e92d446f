"""What was looked at: each part at each visit that looks, seen or not, and why not."""

from django.db import models
from django.db.models import Exists, OuterRef, Q

from inspections.models.defect import Defect
from inspections.models.visit import Visit
from sites.models import Fact, Part, Person


class Look(models.TextChoices):
    SEEN = "seen", "seen"
    DEFECT = "seen with a defect", "seen, with a defect"
    NOT_SEEN = "not seen", "not seen"


class NotSeen(models.TextChoices):
    NOT_ACCESSIBLE = "not accessible", "not accessible"
    ACCESS_REFUSED = "access refused", "access refused"
    COVERED = "covered", "covered"
    NOT_FOUND = "not found", "not found"
    NOT_LOOKED_AT = "not looked at", "not looked at"


# Seen, with a defect or without: the part is covered.
COVERS = (Look.SEEN, Look.DEFECT)


class PartLookQuerySet(models.QuerySet):
    def standing(self) -> "PartLookQuerySet":
        """Rows that count: not replaced by a correction."""
        return self.filter(~Exists(PartLook.objects.filter(replaces=OuterRef("pk"))))


class PartLook(Fact):
    """How looking at one part ended at one visit. Never changed, never deleted.

    reason: why it was not seen, empty where it was
    words: what is to be said of it, or what would help to see it
    defect: the one recorded, where there is one; without it the words say what is wrong
    at: when it was looked at; recorded_at: when it was entered
    replaces: the row this one corrects, with the reason in ``correction``
    """

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="looks")
    part = models.ForeignKey(Part, models.PROTECT, related_name="looks")
    outcome = models.CharField(max_length=20, choices=Look)
    reason = models.CharField(max_length=16, choices=NotSeen, blank=True, default="")
    words = models.CharField(max_length=400, blank=True, default="")
    defect = models.ForeignKey(Defect, models.PROTECT, null=True, related_name="looks")
    at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    replaces = models.OneToOneField("self", models.PROTECT, null=True, related_name="replaced_by")
    correction = models.CharField(max_length=400, blank=True, default="")

    objects = PartLookQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "part"],
                condition=Q(replaces__isnull=True),
                name="part_answered_once_a_visit",
                violation_error_message="This part has been answered at this visit already. Correct that instead.",
            ),
            models.CheckConstraint(
                condition=(Q(outcome="not seen") & ~Q(reason="")) | (~Q(outcome="not seen") & Q(reason="")),
                name="not_seen_says_why",
                violation_error_message="Say why the part was not seen.",
            ),
            models.CheckConstraint(
                condition=(Q(outcome="seen with a defect") & (~Q(words="") | Q(defect__isnull=False)))
                | (~Q(outcome="seen with a defect") & Q(defect__isnull=True)),
                name="defect_of_a_part_is_said",
                violation_error_message="Say what is wrong with the part, or record the defect.",
            ),
            models.CheckConstraint(
                condition=Q(replaces__isnull=True) | ~Q(correction=""),
                name="correction_of_look_says_why",
                violation_error_message="Say why it is corrected.",
            ),
        ]

    @property
    def in_words(self) -> str:
        """The outcome, with the reason where it was not seen."""
        said = Look(self.outcome).label
        return f"{said}: {NotSeen(self.reason).label}" if self.reason else said
