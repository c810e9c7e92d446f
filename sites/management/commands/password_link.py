"""``manage.py password_link EMAIL``: a link for a new password, for an installation without a mail server."""

from typing import Any

from django.core.management.base import CommandError, CommandParser

from sites.management.on_record import RecordCommand
from sites.models import Person
from sites.views.passwords import renewal_link


class Command(RecordCommand):
    help = "Prints a link by which somebody sets a new password. It works once, for two hours. Hand it to them alone."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email")

    def handle(self, *args: Any, **options: Any) -> None:
        person = Person.objects.filter(email=options["email"], is_active=True).first()
        if person is None:
            raise CommandError(f"Nobody signs in as {options['email']}.")
        self.stdout.write(renewal_link(person))
