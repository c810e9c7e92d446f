"""``manage.py import_file KIND FILE --firm FIRM --by EMAIL``: any file the record takes, from the command line."""

import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from inspections.imports import Allowances, Instruments, Intervals, Limits, Readings, Register
from inspections.models import Visit
from inspections.visit_rights import acts_at
from sites import access, imports
from sites.management.on_record import RecordCommand
from sites.models import Firm, ImportKind, Person

WITHOUT_VISIT = {
    ImportKind.REGISTER: (Register, access.CHANGE_REGISTER),
    ImportKind.INSTRUMENTS: (Instruments, access.CHANGE_INSTRUMENTS),
    ImportKind.LIMITS: (Limits, access.CHANGE_RULES),
    ImportKind.INTERVALS: (Intervals, access.CHANGE_RULES),
    ImportKind.ALLOWANCES: (Allowances, access.CHANGE_RULES),
}


class Command(RecordCommand):
    help = "Imports a CSV file: all of it or nothing, every bad row named. Exits with 1 where it is refused."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", choices=ImportKind.values)
        parser.add_argument("file", type=Path)
        parser.add_argument("--firm", required=True)
        parser.add_argument("--by", required=True, help="the e-mail address of the person who hands it in")
        parser.add_argument("--visit", type=int, help="the number of the visit that readings belong to")

    def handle(self, *args: Any, **options: Any) -> None:
        firm = Firm.objects.filter(name=options["firm"]).first()
        person = Person.objects.filter(email=options["by"]).first()
        if firm is None or person is None:
            raise CommandError("There is no such firm or person. Check --firm and --by.")
        importer = _importer(firm, person, options)
        try:
            taken = imports.run(
                importer,
                firm=firm,
                name=options["file"].name,
                content=_content(options["file"]),
                by=person,
                at=timezone.now(),
            )
        except imports.ImportRefused as refusal:
            self.stderr.write(str(refusal))
            sys.exit(1)
        self.stdout.write(f"{taken.name} is taken over; rows: {taken.rows}.")


def _importer(firm: Firm, person: Person, options: dict[str, Any]) -> imports.Importer:
    """What takes the file. Raises: CommandError where the person's roles do not allow it"""
    today = timezone.now().date()
    if options["kind"] == ImportKind.READINGS:
        visit = _visit(firm, options)
        if access.ENTER not in acts_at(person, visit, on=today):
            raise CommandError(f"{person} has no role that may {access.ENTER} at visit {visit.number}.")
        return Readings(visit)
    make, act = WITHOUT_VISIT[options["kind"]]
    if not access.may(person, act, firm, on=today):
        raise CommandError(f"{person} has no role at {firm} that may {act}.")
    return make()


def _visit(firm: Firm, options: dict[str, Any]) -> Visit:
    rows = Visit.objects.filter(firm=firm, number=options["visit"])
    visit = rows.select_related("structure__site__client").first()
    if visit is None:
        raise CommandError("Readings belong to a visit of this firm. Give its number with --visit.")
    return visit


def _content(file: Path) -> bytes:
    """The file, read no further than its size limit allows: the engine then says that it is too large."""
    try:
        with file.open("rb") as opened:
            return opened.read(settings.IMPORT_MAX_BYTES + 1)
    except OSError as fault:
        raise CommandError(f"{file} cannot be read: {fault.strerror}.") from fault
