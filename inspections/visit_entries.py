"""Every entry ever made at a visit: what counts, what was corrected and by what, what was withdrawn with its import."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Value

from inspections.models import NoReading, Reading, Visit

READING, REASON = "reading", "reason"


@dataclass(frozen=True, slots=True)
class Entry:
    """A reading, or a reason for none. late: recorded on a later day than it was so"""

    row: Reading | NoReading
    late: bool

    @property
    def is_reading(self) -> bool:
        return isinstance(self.row, Reading)

    @property
    def correction(self) -> Reading | NoReading | None:
        """What replaced it, if anything did."""
        found: Reading | NoReading | None = getattr(self.row, "replaced_by", None)
        return found

    @property
    def withdrawal(self) -> Any:
        """The withdrawal of the import it came with, if there was one."""
        return getattr(self.row.file, "withdrawal", None)

    @property
    def counts(self) -> bool:
        return self.correction is None and self.withdrawal is None


def page_of_entries(visit: Visit, zone: Any, start: int, stop: int) -> list[Entry]:
    """Entries in the order in which they were recorded, in three queries."""
    keys = [
        rows.filter(visit=visit).order_by().annotate(kind=Value(kind)).values_list("recorded_at", "kind", "pk")
        for rows, kind in ((Reading.objects, READING), (NoReading.objects, REASON))
    ]  # fmt: skip
    page = list(keys[0].union(keys[1], all=True).order_by("recorded_at", "kind", "pk")[start:stop])
    shown = ("point", "by", "file__withdrawal__by", "replaced_by__by", "replaces")
    readings = Reading.objects.select_related("verdict", "replaced_by__verdict", *shown)
    found: dict[str, dict[int, Any]] = {
        READING: readings.in_bulk([pk for _, kind, pk in page if kind == READING]),
        REASON: NoReading.objects.select_related(*shown).in_bulk(
            [pk for _, kind, pk in page if kind == REASON]
        ),
    }
    return [_entry(found[kind][pk], zone) for _, kind, pk in page]


def _entry(row: Reading | NoReading, zone: Any) -> Entry:
    def day(moment: datetime) -> Any:
        return moment.astimezone(zone).date()

    return Entry(row, day(row.recorded_at) > day(row.at))
