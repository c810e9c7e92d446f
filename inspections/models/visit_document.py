"""Photographs and papers of a visit: documents of its structure that were made or met with there."""

from django.db import models

from inspections.models.visit import Visit
from sites.models import Document, Fact, Person


class VisitDocument(Fact):
    """A document of the visit's structure that belongs to this visit."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="documents")
    document = models.OneToOneField(Document, models.PROTECT, related_name="of_visit")
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["recorded_at", "pk"]
