"""``manage.py remove_second_factors EMAIL``: for somebody who has lost device and recovery codes."""

from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from sites.actions.signing import SigningRefused, remove_second_factors
from sites.management.on_record import RecordCommand
from sites.models import Person


class Command(RecordCommand):
    help = (
        "Removes every second factor of a person and ends their sessions; it is logged and they get a letter. "
        "Make sure first that it is they who ask. Where their firm demands a second factor, "
        "they set up a new one at the next sign-in."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email")
        parser.add_argument("--reason", default="", help="stands in the log and in the letter to the person")

    def handle(self, *args: Any, **options: Any) -> None:
        person = Person.objects.filter(email=options["email"]).first()
        if person is None:
            raise CommandError(f"Nobody signs in as {options['email']}.")
        try:
            count = remove_second_factors(person, by=None, at=timezone.now(), reason=options["reason"])
        except SigningRefused as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"{person}: {count} removed. All sessions have ended.")
