"""The log: one hash chain a firm."""

from django.db import models

from sites.models.fact import Fact
from sites.models.people import Person
from sites.models.register import Firm


class LogHead(models.Model):
    """The end of a firm's chain and its running numbers: the one row that every action locks, last.

    entries: how many log entries there are; hash: of the last one ("" before the first)
    visits, reports: the highest running number given out
    """

    firm = models.OneToOneField(Firm, models.PROTECT, related_name="log_head", primary_key=True)
    entries = models.PositiveBigIntegerField(default=0)
    hash = models.CharField(max_length=64, blank=True, default="")
    visits = models.PositiveBigIntegerField(default=0)
    reports = models.PositiveBigIntegerField(default=0)


class LogEntry(Fact):
    """One act. ``payload`` is canonical JSON and is what the hash covers; the other columns repeat it for searching.

    hash: SHA-256 of the previous entry's hash, a line feed and the payload
    """

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="log")
    number = models.PositiveBigIntegerField()
    action = models.CharField(max_length=60)
    person = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    subject_kind = models.CharField(max_length=40)
    subject = models.UUIDField(db_index=True)
    payload = models.TextField()
    previous = models.CharField(max_length=64, blank=True)
    hash = models.CharField(max_length=64)

    class Meta:
        ordering = ["firm", "number"]
        constraints = [models.UniqueConstraint(fields=["firm", "number"], name="log_number_once_a_firm")]
