"""Defects: where, what, and how urgent by the adopted scheme."""

from datetime import date

from django.db import models

from inspections.models.visit import Visit
from sites.models import Fact, Firm, Identified, Person, Record, Structure, TestPoint


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
        constraints = [models.UniqueConstraint(fields=["scheme", "rank"], name="rank_once_a_scheme")]

    def __str__(self) -> str:
        return self.word


class DefectQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "DefectQuerySet":
        return self.filter(structure__in=Structure.objects.visible_to(person, on=on).values("pk"))


class Defect(Fact, Identified):
    """What was found wrong. What became of it will be rows of their own; this one never changes."""

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
