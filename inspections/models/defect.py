"""Defects: where, what, how urgent by the adopted scheme, and what became of each."""

from datetime import date

from django.db import models
from django.db.models import Exists, OuterRef, Q

from inspections.models.reading import Reading
from inspections.models.visit import Visit
from sites.models import Fact, Firm, Identified, ImportWithdrawal, Person, Record, Structure, TestPoint


class UrgencyScheme(Record):
    """A scheme of urgencies, as data: who wrote it and what its words mean."""

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="urgency_schemes")
    name = models.CharField(max_length=120)
    source = models.CharField(max_length=300)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["firm", "name"], name="scheme_name_once_a_firm")]

    def __str__(self) -> str:
        return self.name


class Urgency(Record):
    """rank: 1 is the most urgent; word: what is printed; meaning: in full words"""

    scheme = models.ForeignKey(UrgencyScheme, models.PROTECT, related_name="urgencies")
    rank = models.PositiveSmallIntegerField()
    word = models.CharField(max_length=60)
    meaning = models.CharField(max_length=300)

    class Meta:
        ordering = ["rank"]
        constraints = [
            models.UniqueConstraint(fields=["scheme", "rank"], name="rank_once_a_scheme"),
            models.CheckConstraint(
                condition=~Q(meaning=""),
                name="urgency_says_what_it_means",
                violation_error_message="Say what this urgency means; a letter or a word alone tells nobody.",
            ),
        ]

    def __str__(self) -> str:
        return self.word

    @property
    def in_words(self) -> str:
        """The word; a letter or a code only together with what it means."""
        says_something = any(len(part) > 2 and part.isalpha() for part in self.word.split())
        return self.word if says_something else f"{self.word}: {self.meaning}"

    @property
    def is_danger(self) -> bool:
        """The most urgent of its scheme: somebody is told before the visit leaves."""
        return self.rank == 1


class DefectQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "DefectQuerySet":
        return self.filter(structure__in=Structure.objects.visible_to(person, on=on).values("pk"))


class Defect(Fact, Identified):
    """What was found wrong. This row never changes: what became of it is ``DefectStep``."""

    structure = models.ForeignKey(Structure, models.PROTECT, related_name="defects")
    visit = models.ForeignKey(Visit, models.PROTECT, related_name="defects")
    point = models.ForeignKey(TestPoint, models.PROTECT, null=True, blank=True, related_name="defects")
    place = models.CharField(max_length=300)
    words = models.CharField(max_length=600)
    urgency = models.ForeignKey(Urgency, models.PROTECT, related_name="+")
    found_at = models.DateTimeField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    objects = DefectQuerySet.as_manager()

    class Meta:
        ordering = ["urgency__rank", "found_at", "pk"]


class DefectStepKind(models.TextChoices):
    """The kinds of ``inspections.rules.defects``."""

    TOLD = "told as dangerous", "told as dangerous"
    MADE_SAFE = "made safe", "made safe by temporary means"
    REPAIRED = "repaired", "repaired"
    RETESTED = "re-tested", "re-tested"
    ACCEPTED = "accepted", "accepted by the owner"
    WITHDRAWN = "withdrawn", "withdrawn"
    SEEN_AGAIN = "seen again", "seen again"


class DefectStepQuerySet(models.QuerySet):
    def with_void(self) -> "DefectStepQuerySet":
        """Adds ``void``: it names a reading that was corrected or withdrawn since."""
        corrected = Reading.objects.filter(replaces=OuterRef("reading"))
        undone = ImportWithdrawal.objects.filter(file=OuterRef("reading__file"))
        return self.annotate(void=Exists(corrected) | Exists(undone))

    def counting(self) -> "DefectStepQuerySet":
        """Without re-tests that are void, and those before any repair."""
        before = Q(at__lt=OuterRef("at")) | Q(at=OuterRef("at"), pk__lt=OuterRef("pk"))
        repaired = DefectStep.objects.filter(before, defect=OuterRef("defect"), kind=DefectStepKind.REPAIRED)
        nothing = Q(void=True) | ~Exists(repaired)
        return self.with_void().exclude(Q(kind=DefectStepKind.RETESTED) & nothing)


class DefectStep(Fact, Identified):
    """What became of a defect: when it was so, and who recorded it. Its state is derived from these rows.

    words: what was done, said or seen; for a withdrawal, why
    who: told of the danger, made it safe, repaired or accepted it; how: the way somebody was told
    until: the last day of an acceptance; document: where it is written
    reading: of the re-test; visit: of the re-test without a reading, or at which it was seen again
    """

    defect = models.ForeignKey(Defect, models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=20, choices=DefectStepKind)
    at = models.DateTimeField()
    words = models.CharField(max_length=600, blank=True)
    who = models.CharField(max_length=200, blank=True)
    how = models.CharField(max_length=120, blank=True)
    until = models.DateField(null=True, blank=True)
    document = models.CharField(max_length=300, blank=True)
    reading = models.ForeignKey(Reading, models.PROTECT, null=True, blank=True, related_name="+")
    visit = models.ForeignKey(Visit, models.PROTECT, null=True, blank=True, related_name="defect_steps")
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    objects = DefectStepQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["defect", "at"], name="defect_life")]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="told as dangerous") | (~Q(who="") & ~Q(how="")),
                name="danger_told_to_whom_and_how",
                violation_error_message="Say who was told, and how.",
            ),
            models.CheckConstraint(
                condition=~Q(kind__in=["made safe", "repaired"]) | (~Q(who="") & ~Q(words="")),
                name="repair_says_what_and_by_whom",
                violation_error_message="Say what was done, and by whom.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="re-tested") | Q(reading__isnull=False) | Q(visit__isnull=False),
                name="retest_names_reading_or_visit",
                violation_error_message="Name the reading or the visit that re-tested it.",
            ),
            models.CheckConstraint(
                condition=(Q(kind="accepted") & Q(until__isnull=False) & ~Q(who=""))
                | (~Q(kind="accepted") & Q(until__isnull=True)),
                name="acceptance_ends_on_a_day",
                violation_error_message="Say who accepted it, and until which day.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="withdrawn") | ~Q(words=""),
                name="withdrawal_of_defect_says_why",
                violation_error_message="Say why the defect is withdrawn.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="seen again") | Q(visit__isnull=False),
                name="seen_again_at_a_visit",
                violation_error_message="Name the visit at which it was seen again.",
            ),
            models.UniqueConstraint(
                fields=["defect", "visit"],
                condition=Q(kind="seen again"),
                name="seen_again_once_a_visit",
                violation_error_message="It was recorded as seen at this visit already.",
            ),
        ]
