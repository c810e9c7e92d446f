"""manage.py validate [--cases FILE] [--json] [--pdf FILE]: does this program compute what it should?

No record is touched.
"""

import os
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from inspections.cases.command import WRONG, CaseCommand
from inspections.cases.reading_case import CaseError
from inspections.cases.validation_run import as_json, readable, validation
from reports.pdf.validation import render

DIFFERENT = 1


class Command(CaseCommand):
    help = (
        "Runs the validation cases through the same functions as working, dates and calculate, and prints what was "
        "expected and what came out. Exits with 1 where anything differs, with 2 where a file cannot be used."
    )
    arguments = "[--cases FILE] [--json] [--pdf FILE]"
    readable = staticmethod(readable)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--cases", metavar="FILE", help="your own cases, instead of those that come along"
        )
        parser.add_argument("--json", action="store_true", help="answer as one JSON object")
        parser.add_argument("--pdf", metavar="FILE", help="also write a report to date and sign")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            done = validation(options["cases"], at=timezone.now())
            if options["pdf"]:
                _write(Path(options["pdf"]), render(done))
        except CaseError as error:
            self.stderr.write(str(error))
            raise SystemExit(WRONG) from None
        self.tell(as_json(done), as_json=options["json"])
        if done.differing:
            raise SystemExit(DIFFERENT)


def _write(path: Path, pdf: bytes) -> None:
    """The whole file or none: a report already there is replaced in one step."""
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        draft.write_bytes(pdf)
        draft.replace(path)
    except (OSError, ValueError) as error:
        draft.unlink(missing_ok=True)
        reason = getattr(error, "strerror", None) or str(error)
        raise CaseError(
            f"{path} cannot be written: {reason}. Name a file in a folder you may write to."
        ) from None
