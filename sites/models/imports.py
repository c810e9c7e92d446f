"""Imported files: kept with their hash; undone by a withdrawing row."""

from django.db import models

from sites.models.fact import Fact, Identified
from sites.models.people import Person
from sites.models.register import Firm


class ImportKind(models.TextChoices):
    REGISTER = "register", "register"
    READINGS = "readings", "a day's readings"
    INSTRUMENTS = "instruments", "instruments"
    LIMITS = "limits", "limits"
    INTERVALS = "intervals", "intervals"
    ALLOWANCES = "allowances", "days after events"


class ImportedFile(Fact, Identified):
    """A file as it was handed in. Its bytes lie in the file store under their hash.

    rows: how many rows were taken over
    subject: what it was imported into (a visit for readings), if anything
    """

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="imports")
    kind = models.CharField(max_length=16, choices=ImportKind)
    name = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    rows = models.PositiveIntegerField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.name


class ImportWithdrawal(Fact):
    """An import undone: its rows stay, and count no more."""

    file = models.OneToOneField(ImportedFile, models.PROTECT, related_name="withdrawal")
    reason = models.CharField(max_length=400)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
