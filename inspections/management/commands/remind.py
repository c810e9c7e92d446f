"""``manage.py remind``: tells those who must know what is overdue, due and due soon. For a daily cron."""

import sys
from smtplib import SMTPException
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from inspections import reminders
from inspections.actions.reminding import AlreadyRunning, one_run_at_a_time, remind
from sites import mail
from sites.management.on_record import RecordCommand


class Command(RecordCommand):
    help = (
        "Mails planners and facility managers what is overdue, due and due soon, and why: one letter a person and day, "
        "however often it is run. Exits with 1 where the mail server did not take a letter; run it again then."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        if not mail.has_server():
            raise CommandError("No mail server is named. Set DOWNLEAD_MAIL_URL; nothing was sent.")
        at = timezone.now()
        counted: dict[str, int] = {}
        try:
            with one_run_at_a_time():
                for person, firm in reminders.who(at.date()):
                    try:
                        outcome = remind(person, firm, at=at)
                    except (OSError, SMTPException) as fault:
                        outcome = "not taken by the mail server"
                        self.stderr.write(
                            f"{person}, {firm}: {type(fault).__name__}. Not sent; run this again."
                        )
                    counted[outcome] = counted.get(outcome, 0) + 1
        except AlreadyRunning:
            raise CommandError(
                "Another run is sending reminders now; nothing was sent by this one."
            ) from None
        for outcome, number in sorted(counted.items()):
            self.stdout.write(f"{outcome}: {number}")
        if "not taken by the mail server" in counted:
            sys.exit(1)
