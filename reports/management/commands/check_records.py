"""``manage.py check_records``: is everything stored still what it was, and what the facts give?"""

import sys
from collections.abc import Iterator
from typing import Any

from django.utils import timezone

from inspections import proof as inspections_proof
from reports import proof as reports_proof
from sites import log, protection
from sites.management.on_record import RecordCommand
from sites.models import Firm


class Command(RecordCommand):
    help = (
        "Checks that the log's chains are whole, the protecting triggers are in place, readings, reports and files are "
        "what the log says was entered, issued and kept, and stored verdicts, due dates, planned days, visits' states "
        "and descriptions of the register equal what the facts give. Exits with 1 where anything is wrong."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        wrong = 0
        for what, faults in self._checks():
            count = 0
            for count, fault in enumerate(_to_the_end(faults), start=1):  # noqa: B007 - counted on purpose
                self.stdout.write(f"  {fault}")
            self.stdout.write(f"{what}: {'in order' if not count else f'{count} wrong'}")
            wrong += count
        if wrong:
            sys.exit(1)

    def _checks(self) -> Iterator[tuple[str, Iterator[str]]]:
        yield "Protecting triggers", _trigger_faults()
        for firm in Firm.objects.order_by("pk"):
            yield f"Log of {firm}", log.faults(firm)
        yield "Readings", inspections_proof.reading_faults()
        yield "Verdicts", inspections_proof.verdict_faults()
        yield "Due dates", inspections_proof.due_date_faults(at=timezone.now())
        yield "Register and visits", inspections_proof.current_faults()
        yield "Planned days", inspections_proof.planned_day_faults()
        yield "Reports", reports_proof.issue_faults()
        yield "Imported files", reports_proof.import_faults()
        yield "Documents", reports_proof.document_faults()
        yield "Certificates", reports_proof.certificate_faults()


def _to_the_end(faults: Iterator[str]) -> Iterator[str]:
    """A check that breaks off is a fault of its own: the others still run."""
    try:
        yield from faults
    except Exception as fault:  # rows changed into something else lead anywhere
        yield f"The check broke off ({type(fault).__name__}: {fault}). Something was changed into what it cannot read."


def _trigger_faults() -> Iterator[str]:
    for table, name in protection.missing():
        yield f"The trigger {name} on {table} is missing or altered. Run “manage.py migrate”; find out who removed it."
