"""``manage.py new_firm NAME --address ADDRESS``: the first row of a real record."""

from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from sites.actions.register import RegisterRefused, create_firm
from sites.management.on_record import RecordCommand
from sites.management.words import plain_words


class Command(RecordCommand):
    help = "Begins the record of an inspection firm, with the first entry of its log. Then add its people."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="as it stands on reports")
        parser.add_argument("--address", required=True, help="as it stands on reports")
        parser.add_argument("--accreditation", help="a whole sentence, if one is claimed")

    def handle(self, *args: Any, **options: Any) -> None:
        accreditation = options["accreditation"]
        try:
            firm = create_firm(
                name=plain_words(options["name"], "The name"),
                address=plain_words(options["address"], "The address"),
                accreditation=accreditation and plain_words(accreditation, "The accreditation"),
                by=None,
                at=timezone.now(),
            )
        except RegisterRefused as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"{firm} is on record. Add its people with: manage.py add_person")
