"""Proof that what is stored equals what the facts give: verdicts and due dates, reckoned again; planned days; and that
readings are those that were entered, by the log and by the files they came in."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import islice, zip_longest
from uuid import UUID

from django.db import models
from django.db.models import F, OuterRef, Q, QuerySet, Subquery

from inspections import evidence
from inspections.actions import due
from inspections.calculations import units
from inspections.calculations.display import NUMBER, NumberError, parse_display
from inspections.imports.readings import COLUMNS
from inspections.models import DueDate, NoReading, PlannedDay, Reading, Verdict, Visit, VisitStep
from inspections.quantities import QuantityError, parse_unit
from inspections.rules import judging
from sites import filestore, log
from sites.actions.register import PART_FACTS, STRUCTURE_FACTS
from sites.canonical import normal_text
from sites.imports import Column, Faults, ImportRefused
from sites.imports.files import text_of
from sites.imports.reader import rows_of
from sites.models import (
    ImportedFile,
    ImportKind,
    Part,
    PartDetail,
    PointDetail,
    PointNumber,
    Structure,
    StructureDetail,
    TestPoint,
)

CHUNK = 500
DUE_COLUMNS = (
    "rule_id", "event_id", "suspension_id", "dispensation_id", "demand", "author", "points", "parts", "due",
    "grace_until", "applies_until", "suspended", "overdue_since", "governs", "why", "firm_id", "client_id", "site_id",
)  # fmt: skip


ENTERED, CORRECTED = "readings entered", "reading corrected"
AS_WRITTEN = tuple(Column(column.name, str) for column in COLUMNS)


def reading_faults() -> Iterator[str]:
    """Readings that are not those that were entered or imported, a sentence each."""
    yield from _value_faults()
    yield from _typed_faults()
    yield from _corrected_faults()
    yield from _imported_faults()


def _value_faults() -> Iterator[str]:
    """The value in ohms beside a display must be the display's own."""
    rows = Reading.objects.select_related("point__structure").order_by("pk")
    for row in rows.iterator(chunk_size=CHUNK):
        try:
            display = parse_display(row.text)
            factor = units.factor_to_si(row.unit, units.RESISTANCE)
        except (NumberError, ValueError, KeyError):
            yield f"{_where(row)}: “{row.text} {row.unit}” is not what a display shows."
            continue
        exact = display.number if display.kind == NUMBER else None
        if row.value_ohm != (None if exact is None else exact * factor):
            yield f"{_where(row)}: the value in ohms is not that of the display, {row.text} {row.unit}."


def _typed_faults() -> Iterator[str]:
    """What the log says was entered by hand at each visit, against the rows."""
    logged = log.said(ENTERED)
    for visit in Visit.objects.select_related("firm").order_by("pk").iterator(chunk_size=CHUNK):
        typed = {"visit": visit, "file": None, "replaces": None}
        rows = Counter(
            normal_text(f"{identity}: {text} {unit}")
            for identity, text, unit in Reading.objects.filter(**typed).values_list(
                "point__identity", "text", "unit"
            )
        )
        rows.update(
            f"{identity}: {reason}"
            for identity, reason in NoReading.objects.filter(**typed).values_list("point__identity", "reason")
        )
        before = _entered(logged.get(visit.identity, []))
        if before == rows:
            continue
        # Others go on working meanwhile: rows must bear out what the log said before, and the log by now the rows.
        now = _entered(log.said(ENTERED, subject=visit.identity).get(visit.identity, []))
        for said in before - rows:
            yield f"{visit.firm}: visit {visit.number}: the log says “{_read(said)}” was entered, and no row does."
        for said in rows - now:
            yield f"{visit.firm}: visit {visit.number}: “{_read(said)}” is on record, and the log does not say so."


def _entered(entries: list[log.Said]) -> Counter[str]:
    return Counter(str(one) for entry in entries for one in entry.facts.get("entries", ()))


def _read(said: str) -> str:
    """Without the identity of the point before it."""
    return said.partition(": ")[2]


def _corrected_faults() -> Iterator[str]:
    """Each correction must be one that the log tells of; one that is gone shows as the log's entry without a row."""
    logged = log.said(CORRECTED)
    rows = Reading.objects.filter(replaces__isnull=False).select_related("visit", "point__structure")
    found: Counter[tuple[UUID, str, str]] = Counter()
    for row in rows.order_by("pk").iterator(chunk_size=CHUNK):
        about = row.visit.identity
        told = str(row.point.identity), normal_text(f"{row.text} {row.unit}")
        found[about, *told] += 1
        if told not in _corrections(logged.get(about, [])) and told not in _corrections(
            log.said(CORRECTED, subject=about).get(about, [])
        ):
            yield f"{_where(row)}: the log does not say that it was corrected to {row.text} {row.unit}."
    for about, entries in logged.items():
        said = Counter((about, *told) for told in _corrections(entries))
        for (_, _, is_now), _ in (said - found).items():
            yield f"{entries[0].firm}: the log says a reading was corrected to {is_now}, and no row does."


def _corrections(entries: list[log.Said]) -> list[tuple[str, str]]:
    return [(str(one.facts.get("point")), str(one.facts.get("is"))) for one in entries]


def _imported_faults() -> Iterator[str]:
    """The rows that came in with a file, in its order, against what the file says."""
    files = ImportedFile.objects.filter(kind=ImportKind.READINGS).select_related("firm").order_by("pk")
    for file in files.iterator(chunk_size=CHUNK):
        try:
            content = text_of(filestore.get(file.sha256))
            written = [row for row in rows_of(content, AS_WRITTEN, Faults()) if row["reading"] is not None]
        except (filestore.FileDamaged, ImportRefused):
            continue  # told with the files
        kept = Reading.objects.filter(file=file).select_related("point__structure").order_by("pk")
        for row, reading in zip_longest(written, kept.iterator(chunk_size=CHUNK)):
            if row is None or reading is None:
                yield f"{file.firm}: imported file “{file.name}” holds more or fewer readings than are on record."
                break
            if (reading.text, reading.unit) != (row["reading"], _unit(row["unit"])):
                yield (
                    f"{_where(reading)}: line {row.line} of “{file.name}” says {row['reading']} {row['unit']}, "
                    f"the record {reading.text} {reading.unit}."
                )


def _unit(written: str | None) -> str | None:
    try:
        return parse_unit(written or "", "resistance")
    except QuantityError:
        return written


def _where(row: Reading) -> str:
    return f"Reading {row.pk} (point {row.point.number}, {row.point.structure})"


def current_faults() -> Iterator[str]:
    """Structures, parts, points and visits whose columns are not those of the row of theirs that holds."""
    for model, details, names in (
        (Structure, StructureDetail, STRUCTURE_FACTS),
        (Part, PartDetail, PART_FACTS),
        (TestPoint, PointNumber, ("number", "number_order")),
        (TestPoint, PointDetail, ("place",)),
    ):
        yield from _differing(model, details, names, ("since", "recorded_at", "pk"))
    yield from _differing(Visit, VisitStep, ("state",), ("recorded_at", "pk"))


def _differing(
    model: type[models.Model], facts: type[models.Model], names: Sequence[str], order: Sequence[str]
) -> Iterator[str]:
    """order: by which the last row of facts is the one that holds"""
    to = next(field.attname for field in facts._meta.concrete_fields if field.related_model is model)
    ids = model._default_manager.order_by("pk").values_list("pk", flat=True).iterator(chunk_size=CHUNK)
    while chunk := list(islice(ids, CHUNK)):
        # The rows before their facts would show an act that came in between as a fault; they are asked again.
        for pk in _unlike(model, facts, names, order, to, chunk):
            for row in _unlike(model, facts, names, order, to, [pk]).values():
                yield f"{model._meta.verbose_name} {row}: what holds now ({', '.join(names)}) differs from its facts."


def _unlike(
    model: type[models.Model],
    facts: type[models.Model],
    names: Sequence[str],
    order: Sequence[str],
    to: str,
    chunk: list[int],
) -> dict[int, models.Model]:
    held = {
        getattr(row, to): row
        for row in facts._default_manager.filter(**{f"{to}__in": chunk}).order_by(*order)
    }
    return {
        row.pk: row
        for row in model._default_manager.filter(pk__in=held)
        if any(getattr(row, name) != getattr(held[row.pk], name) for name in names)
    }


def verdict_faults(given: QuerySet[Verdict] | None = None) -> Iterator[str]:
    """Stored verdicts that the rows they were made from no longer give, a sentence each. given: of these, else all"""
    rows = Verdict.objects.all() if given is None else given
    verdicts = rows.select_related(*evidence.VERDICT_ROWS).order_by("pk")
    for verdict in verdicts.iterator(chunk_size=CHUNK):
        reading = verdict.reading
        where = _where(reading)
        if verdict.calculation_version not in judging.KEPT_VERSIONS:
            yield (
                f"{where} was judged by calculation {verdict.calculation_version}; this program has "
                f"{' and '.join(judging.KEPT_VERSIONS)}. Check it with the program version that judged it."
            )
            continue
        try:
            again = evidence.verdict_columns(evidence.judge_again(verdict))
        except Exception as fault:  # rows changed into something else lead anywhere
            yield f"{where} can no longer be judged from its facts ({type(fault).__name__}: {fault})."
            continue
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
