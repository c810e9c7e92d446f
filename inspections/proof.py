"""Proof that what is stored equals what the facts give: verdicts and due dates, reckoned again; planned days."""

from collections.abc import Iterator
from datetime import datetime
from itertools import islice

from django.db.models import F, OuterRef, Q, QuerySet, Subquery

from inspections import evidence
from inspections.actions import due
from inspections.models import DueDate, PlannedDay, Verdict, Visit
from inspections.rules import judging
from sites.models import Structure

CHUNK = 500
DUE_COLUMNS = (
    "rule_id", "event_id", "suspension_id", "dispensation_id", "demand", "author", "points", "parts", "due",
    "grace_until", "applies_until", "suspended", "overdue_since", "governs", "why", "firm_id", "client_id", "site_id",
)  # fmt: skip


def verdict_faults(given: QuerySet[Verdict] | None = None) -> Iterator[str]:
    """Stored verdicts that the rows they were made from no longer give, a sentence each. given: of these, else all"""
    rows = Verdict.objects.all() if given is None else given
    verdicts = rows.select_related(*evidence.VERDICT_ROWS).order_by("pk")
    for verdict in verdicts.iterator(chunk_size=CHUNK):
        reading = verdict.reading
        where = f"Reading {reading.pk} (point {reading.point.number}, {reading.point.structure})"
        if verdict.calculation_version not in judging.KEPT_VERSIONS:
            yield (
                f"{where} was judged by calculation {verdict.calculation_version}; this program has "
                f"{' and '.join(judging.KEPT_VERSIONS)}. Check it with the program version that judged it."
            )
            continue
        again = evidence.verdict_columns(evidence.judge_again(verdict))
        differing = [name for name, value in again.items() if getattr(verdict, name) != value]
        if differing:
            yield f"{where}: the stored verdict differs from what its facts give in {', '.join(differing)}."


def due_date_faults(*, at: datetime) -> Iterator[str]:
    """Structures whose stored due dates differ from what the facts give now, a sentence each."""
    ids = Structure.objects.order_by("pk").values_list("pk", flat=True).iterator(chunk_size=CHUNK)
    while chunk := list(islice(ids, CHUNK)):
        stored: dict[int, list[tuple]] = {pk: [] for pk in chunk}
        for row in DueDate.objects.filter(structure__in=chunk):
            stored[row.structure_id].append(_columns(row))
        given: dict[int, list[tuple]] = {pk: [] for pk in chunk}
        for rows in due.reckon(chunk, at=at):
            for row in rows:
                given[row.structure_id].append(_columns(row))
        for pk in chunk:
            if sorted(stored[pk], key=repr) != sorted(given[pk], key=repr):
                name = Structure.objects.select_related("site").get(pk=pk)
                yield f"{name}, {name.site}: the stored due dates differ from what the facts give."


def _columns(row: DueDate) -> tuple:
    return tuple(getattr(row, name) for name in DUE_COLUMNS)


def planned_day_faults() -> Iterator[str]:
    """Visits whose planned day is not that of the row recorded last, or that have none; a sentence each."""
    latest = PlannedDay.objects.filter(visit=OuterRef("pk")).order_by("-recorded_at", "-pk")
    rows = Visit.objects.annotate(holds=Subquery(latest.values("planned_on")[:1])).select_related("firm")
    wrong = rows.filter(Q(holds__isnull=True) | ~Q(planned_on=F("holds"))).order_by("pk")
    for visit in wrong.iterator(chunk_size=CHUNK):
        yield f"{visit.firm}: {visit}: the planned day differs from the last one recorded."
