"""Sending reminders: one letter a person, firm and day, and a row for each that the mail server took.

The row is written right after the server took the letter. Killed between the two, the next run sends that one letter
again: it errs on the side of twice, and the second carries the same Message-ID. A letter is never lost by it.
"""

import fcntl
import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from smtplib import SMTPException
from urllib.parse import urljoin, urlsplit

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import connection, transaction
from django.template.loader import render_to_string
from django.urls import reverse

from inspections import reminders
from inspections.models import ReminderChoice, ReminderSent
from inspections.reminders import Reminder
from inspections.rules.reminding import Telling, telling
from sites import log
from sites.models import Firm, Membership, Person

LOCK = 0x646C726D  # one number for all processes on the same database


class AlreadyRunning(Exception):
    """Another run is sending reminders now."""


@contextmanager
def one_run_at_a_time() -> Iterator[None]:
    """Held until the process ends, however it ends. Raises: AlreadyRunning"""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_try_advisory_lock(%s)", [LOCK])
            if not cursor.fetchone()[0]:
                raise AlreadyRunning
            try:
                yield
            finally:
                cursor.execute("SELECT pg_advisory_unlock(%s)", [LOCK])
        return
    path = Path(settings.DATA) / "reminding.lock"
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as held:
            raise AlreadyRunning from held
        yield


def remind(person: Person, firm: Firm, *, at: datetime) -> str:
    """Send a person their reminder of the day, unless it went already or there is nothing to tell.

    Returns: "sent", "nothing to tell" or "sent before"
    Raises: OSError, SMTPException where the mail server did not take the letter
    """
    day = at.date()
    if ReminderSent.objects.filter(person=person, firm=firm, day=day).exists():
        return "sent before"
    tells = _tells(person, firm, day)
    told = reminders.of(person, firm, at=at, tells=tells)
    if not told.total:
        return "nothing to tell"
    letter = letter_of(person, firm, told, day)
    if letter.send() != 1:
        raise SMTPException("The mail server took no letter.")
    ReminderSent.objects.create(
        firm=firm, person=person, day=day, overdue=told.overdue, due=told.due, soon=told.soon,
        dangers=told.dangerous, whole=tells.soon,
        message_id=letter.extra_headers["Message-ID"], recorded_at=at,
        text_sha256=hashlib.sha256(letter.body.encode()).hexdigest(),
    )  # fmt: skip
    return "sent"


def _tells(person: Person, firm: Firm, day: date) -> Telling:
    """By the person's own choice, and the letters they got before."""
    rhythm, weekday = reminders.choice_of(person)
    got = ReminderSent.objects.filter(person=person, firm=firm, day__lt=day).order_by("-day")
    last_whole = got.filter(whole=True).values_list("day", flat=True).first()
    last = got.values_list("day", flat=True).first()
    return telling(day, rhythm=rhythm, weekday=weekday, last_whole=last_whole, last=last)


@transaction.atomic
def choose(person: Person, *, rhythm: str, weekday: int | None, at: datetime) -> ReminderChoice:
    """How often somebody wants to be reminded; weekday: of the weekly letter, else None."""
    weekday = None if weekday is None else int(weekday)
    row = ReminderChoice(person=person, rhythm=rhythm, weekday=weekday, recorded_at=at)
    row.full_clean()
    row.save(force_insert=True)
    firms = Firm.objects.filter(memberships__in=Membership.objects.on(at.date()).filter(person=person))
    for firm in firms.distinct().order_by("pk"):
        log.record(
            firm,
            "reminders chosen",
            person,
            by=person,
            at=at,
            facts={"rhythm": str(rhythm), "weekday": weekday},
        )
    return row


def letter_of(person: Person, firm: Firm, told: Reminder, day: date) -> EmailMessage:
    """Plain words, no tracking; the same Message-ID for the same person, firm and day."""
    due = reverse("due")
    text = render_to_string(
        "mail/reminder.txt",
        {
            "person": person,
            "firm": firm,
            "told": told,
            "day": day,
            "address": urljoin(settings.PUBLIC_URL, due),
            "choosing": urljoin(settings.PUBLIC_URL, reverse("reminders")),
        },
    )
    number = hashlib.sha256(f"{person.identity} {firm.identity} {day}".encode()).hexdigest()[:32]
    host = urlsplit(settings.PUBLIC_URL).hostname or "localhost"
    return EmailMessage(
        subject_of(told),
        text,
        settings.DEFAULT_FROM_EMAIL,
        [person.email or ""],
        headers={"Message-ID": f"<reminder-{number}@{host}>", "Auto-Submitted": "auto-generated"},
    )


def subject_of(told: Reminder) -> str:
    """What the letter is about, the most pressing first: "1 dangerous, 3 overdue, 12 due within 60 days"."""
    parts = [
        f"{number} {words}"
        for number, words in (
            (told.dangerous, "dangerous"),
            (told.overdue, "overdue"),
            (told.due, "due"),
            (told.soon, "due within 60 days"),
        )
        if number
    ]
    return f"Inspections: {', '.join(parts)}"
