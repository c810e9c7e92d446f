"""What is looked at in a record after a process working in it was killed."""

import io
from collections.abc import Iterator
from contextlib import redirect_stdout
from datetime import timedelta
from pathlib import Path

import time_machine
from django.conf import settings
from django.core.management import call_command
from django.db import connection

from inspections import proof as inspections_proof
from inspections.actions import due
from inspections.models import Reading, Verdict
from reports import proof as reports_proof
from sites import log, protection
from sites.models import Firm, LogEntry, LogHead, Structure
from tests import story as told

# After everything that happens in these records.
LATER = told.ON_SITE + timedelta(days=40)


def reckon_due_dates(firm: Firm) -> None:
    """For structures that were simply put there, what the register's own acts do for those they make."""
    structures = Structure.objects.filter(site__client__firm=firm).order_by("pk")
    due.refresh(list(structures.values_list("pk", flat=True)), at=told.ON_SITE)


def wrong(firm: Firm) -> list[str]:
    """Everything that does not hold, a sentence each, but for issues still without their file."""
    said = [*_database_faults(), *log.faults(firm), *_unjudged()]
    said += [f"The trigger {name} on {table} is missing." for table, name in protection.missing()]
    said += inspections_proof.due_date_faults(at=LATER)
    said += reports_proof.import_faults()
    if LogHead.objects.get(pk=firm.pk).entries != LogEntry.objects.filter(firm=firm).count():
        said.append("The head and the log do not hold equally many entries.")
    return said


def _database_faults() -> Iterator[str]:
    connection.check_constraints()
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            for (line,) in cursor.execute("PRAGMA integrity_check").fetchall():
                if line != "ok":
                    yield line


def _unjudged() -> Iterator[str]:
    readings, verdicts = Reading.objects.count(), Verdict.objects.count()
    if readings != verdicts or Reading.objects.filter(verdict=None).exists():
        yield f"{readings} readings stand beside {verdicts} verdicts."


def drafts() -> list[int]:
    """Sizes of what lies in the file store under no hash."""
    return sorted(path.stat().st_size for path in _files() if len(path.name) != 64)


def kept(sha256: str) -> bool:
    """Whether a file has this hash for its name, whole or not."""
    return any(path.name == sha256 for path in _files())


def _files() -> Iterator[Path]:
    return (path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file())


def checked() -> str:
    """What ``manage.py check_records`` says later on, with its exit status in front."""
    out, status = io.StringIO(), 0
    with time_machine.travel(LATER, tick=False), redirect_stdout(out):
        try:
            call_command("check_records", stdout=out)
        except SystemExit as ended:
            status = int(ended.code or 0)
    return f"{status}\n{out.getvalue()}"
