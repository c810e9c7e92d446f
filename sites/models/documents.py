"""Documents that belong to a site or a structure: revisions that replace each other, never changed, never removed."""

from datetime import date

from django.db import models
from django.db.models import Exists, OuterRef, Q

from sites.models.fact import Fact, Identified
from sites.models.media import Media
from sites.models.people import Person
from sites.models.register import Part, Site, Structure, TestPoint


class DocumentKind(models.TextChoices):
    DRAWING = "drawing", "drawing"
    DESIGN = "design description", "design description"
    RISK = "risk assessment", "risk assessment"
    EARLIER = "earlier report", "earlier report"
    CERTIFICATE = "certificate", "certificate of a material or component"
    METHOD = "method statement", "method statement"
    PHOTOGRAPH = "photograph", "photograph"
    LETTER = "correspondence", "correspondence"
    OTHER = "other", "another kind"


class Document(Identified, Fact):
    """What a document is. What it says are its revisions; the one with the highest number stands.

    structure: where it concerns one of the site's structures; part, point: where one of that structure's
    """

    site = models.ForeignKey(Site, models.PROTECT, related_name="documents")
    structure = models.ForeignKey(Structure, models.PROTECT, null=True, blank=True, related_name="documents")
    part = models.ForeignKey(Part, models.PROTECT, null=True, blank=True, related_name="documents")
    point = models.ForeignKey(TestPoint, models.PROTECT, null=True, blank=True, related_name="documents")
    kind = models.CharField(max_length=24, choices=DocumentKind)
    title = models.CharField(max_length=200)

    class Meta:
        ordering = ["title", "pk"]
        indexes = [models.Index(fields=["structure", "kind"], name="document_of_structure")]
        constraints = [
            models.CheckConstraint(
                condition=Q(part=None, point=None) | Q(structure__isnull=False),
                name="document_of_part_or_point_names_its_structure",
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def narrower(self) -> str:
        """The part or point it concerns, in words; empty for the whole of a structure or site."""
        if self.point:
            return f"point {self.point.number}"
        return self.part.name if self.part else ""


class RevisionQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "RevisionQuerySet":
        """Documents of the sites this person may see on that day."""
        return self.filter(document__site__in=Site.objects.visible_to(person, on=on).values("pk"))

    def with_standing(self) -> "RevisionQuerySet":
        """Each with ``replaced`` and ``withdrawn``, which follow from later rows."""
        later = Revision.objects.filter(document=OuterRef("document"), number__gt=OuterRef("number"))
        withdrawn = DocumentWithdrawal.objects.filter(document=OuterRef("document"))
        return self.annotate(replaced=Exists(later), withdrawn=Exists(withdrawn))

    def newest(self) -> "RevisionQuerySet":
        """Of each document the revision that stands, with ``withdrawn``."""
        return self.with_standing().filter(replaced=False)


class Revision(Fact):
    """One state of a document, with its file as it was handed in.

    number: 1, 2, … as recorded; mark: what its author calls the revision, if anything
    dated: the day the author put on it; author: who made it, in words
    name: as shown and offered for saving; its bytes lie in the file store under ``sha256``
    words: what is new in it, or what is to be known of it
    """

    document = models.ForeignKey(Document, models.PROTECT, related_name="revisions")
    number = models.PositiveSmallIntegerField()
    mark = models.CharField(max_length=30, blank=True)
    dated = models.DateField(null=True, blank=True)
    author = models.CharField(max_length=200, blank=True)
    words = models.CharField(max_length=400, blank=True)
    name = models.CharField(max_length=140)
    media = models.CharField(max_length=80, choices=Media)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    objects = RevisionQuerySet.as_manager()

    class Meta:
        ordering = ["-recorded_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["document", "number"], name="revision_number_once_a_document"),
            models.CheckConstraint(condition=Q(number__gte=1), name="revisions_count_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.document}, revision {self.mark or self.number}"

    @property
    def is_picture(self) -> bool:
        return Media(self.media).is_picture


class DocumentWithdrawal(Fact):
    """A document that is not to be used any more, and why. It remains readable."""

    document = models.OneToOneField(Document, models.PROTECT, related_name="withdrawal")
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
