"""Every entry ever made at a visit: what counts, what was corrected and by what, what was withdrawn with its import."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Value

from inspections.models import NoReading, PartLook, Reading, Visit

# In the order in which those of one moment stand.
PART, READING, REASON = "part", "reading", "reason"
Row = Reading | NoReading | PartLook


@dataclass(frozen=True, slots=True)
class Entry:
    """A reading, a reason for none, or what was said of a part. late: recorded on a later day than it was so"""

    row: Row
    late: bool

    @property
    def is_reading(self) -> bool:
        return isinstance(self.row, Reading)

    @property
    def is_part(self) -> bool:
        return isinstance(self.row, PartLook)

    @property
    def file(self) -> Any:
        """The import it came with, if it did; parts are never imported."""
        return getattr(self.row, "file", None)

    @property
    def correction(self) -> Row | None:
        """What replaced it, if anything did."""
        found: Row | None = getattr(self.row, "replaced_by", None)
        return found

    @property
    def withdrawal(self) -> Any:
        """The withdrawal of the import it came with, if there was one."""
        return getattr(self.file, "withdrawal", None)

    @property
    def counts(self) -> bool:
        return self.correction is None and self.withdrawal is None


def page_of_entries(visit: Visit, zone: Any, start: int, stop: int) -> list[Entry]:
    """Entries in the order in which they were recorded, in four queries."""
    keys = [
        rows.filter(visit=visit).order_by().annotate(kind=Value(kind)).values_list("recorded_at", "kind", "pk")
        for rows, kind in ((Reading.objects, READING), (NoReading.objects, REASON), (PartLook.objects, PART))
    ]  # fmt: skip
    page = list(keys[0].union(*keys[1:], all=True).order_by("recorded_at", "kind", "pk")[start:stop])
    shown = ("point", "by", "file__withdrawal__by", "replaced_by__by", "replaces")
    readings = Reading.objects.select_related("verdict", "replaced_by__verdict", *shown)
    found: dict[str, dict[int, Any]] = {
        READING: readings.in_bulk([pk for _, kind, pk in page if kind == READING]),
        REASON: NoReading.objects.select_related(*shown).in_bulk(
            [pk for _, kind, pk in page if kind == REASON]
        ),
        PART: PartLook.objects.select_related("part", "by", "defect", "replaced_by__by", "replaces").in_bulk(
            [pk for _, kind, pk in page if kind == PART]
        ),
    }
    return [_entry(found[kind][pk], zone) for _, kind, pk in page]


def _entry(row: Row, zone: Any) -> Entry:
    def day(moment: datetime) -> Any:
        return moment.astimezone(zone).date()

    return Entry(row, day(row.recorded_at) > day(row.at))
