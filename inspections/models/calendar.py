"""Calendars somebody may subscribe to, and the reminders that were sent."""

from django.db import models
from django.db.models import Q

from sites.models import Client, Fact, Firm, Person, Record, Site


class FeedKind(models.TextChoices):
    OWN = "own", "my own visits"
    SITE = "site", "one site"
    CLIENT = "client", "one client"


class CalendarFeed(Record):
    """A calendar behind a secret address. What it shows is what its owner may see on the day it is fetched.

    secret_sha256: of the secret, which is kept nowhere; replaced with it
    """

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, models.PROTECT, related_name="calendars")
    kind = models.CharField(max_length=8, choices=FeedKind)
    client = models.ForeignKey(Client, models.PROTECT, null=True, blank=True, related_name="+")
    site = models.ForeignKey(Site, models.PROTECT, null=True, blank=True, related_name="+")
    secret_sha256 = models.CharField(max_length=64, unique=True)
    replaced_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["recorded_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="own", client__isnull=True, site__isnull=True)
                | Q(kind="site", client__isnull=True, site__isnull=False)
                | Q(kind="client", client__isnull=False, site__isnull=True),
                name="calendar_of_one_thing",
                violation_error_message="A calendar is of one site or one client, or your own.",
            )
        ]

    def __str__(self) -> str:
        return str(self.site or self.client or f"visits of {self.person}")


class ReminderRhythm(models.TextChoices):
    DAILY = "daily", "every day"
    WEEKLY = "weekly", "once a week"
    PRESSING = "pressing", "only what is dangerous or overdue"


class Weekday(models.IntegerChoices):
    MONDAY = 0, "Monday"
    TUESDAY = 1, "Tuesday"
    WEDNESDAY = 2, "Wednesday"
    THURSDAY = 3, "Thursday"
    FRIDAY = 4, "Friday"
    SATURDAY = 5, "Saturday"
    SUNDAY = 6, "Sunday"


class ReminderChoice(Fact):
    """How often somebody wants to be reminded. The row recorded last holds; without one it is every day.

    weekday: of the weekly letter, a day in UTC as the reminders count them; None otherwise
    """

    person = models.ForeignKey(Person, models.PROTECT, related_name="reminder_choices")
    rhythm = models.CharField(max_length=8, choices=ReminderRhythm)
    weekday = models.PositiveSmallIntegerField(choices=Weekday, null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(rhythm="weekly", weekday__range=(0, 6)) | (~Q(rhythm="weekly") & Q(weekday=None)),
                name="weekly_reminder_has_its_weekday",
                violation_error_message="Choose the weekday of the weekly letter.",
            )
        ]


class ReminderSent(Fact):
    """A reminder that the mail server took, for one person and day: what it counted, and the hash of its text.

    whole: it told everything, and not only what had become dangerous or overdue since the letter before
    """

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, models.PROTECT, related_name="+")
    day = models.DateField()
    overdue = models.PositiveIntegerField()
    due = models.PositiveIntegerField()
    soon = models.PositiveIntegerField()
    dangers = models.PositiveIntegerField(default=0)
    whole = models.BooleanField(default=True)
    message_id = models.CharField(max_length=200)
    text_sha256 = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "firm", "day"], name="reminder_once_a_person_and_day")
        ]
