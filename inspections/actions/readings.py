"""Recording what was read at a visit, and judging it in the same transaction."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from inspections import baselines, evidence
from inspections.actions import due
from inspections.actions.entries import NewNoReading, NewReading
from inspections.calculations import units
from inspections.calculations.display import NUMBER, parse_display
from inspections.models import (
    Calibration,
    LimitRule,
    NoReading,
    Reading,
    Rebase,
    Verdict,
    Visit,
    VisitState,
)
from inspections.rules import judging
from sites import bulk, log
from sites.models import ImportedFile, PartDetail, Person, Quantity, TestPoint

BATCH = 2000
CORRECTED_IN = (VisitState.ON_SITE, VisitState.FIELD_COMPLETE, VisitState.IN_REVIEW, VisitState.AMENDING)


class EntryRefused(Exception):
    """An entry that the record cannot take, with the sentence for the person who made it."""


@transaction.atomic
def record(
    visit: Visit,
    readings: Sequence[NewReading],
    no_readings: Sequence[NewNoReading] = (),
    *,
    by: Person,
    at: datetime,
    file: ImportedFile | None = None,
) -> list[Reading]:
    """Keep readings and reasons for no reading, judge each reading, and refresh what is due.

    file: the import they come from; its own log entry then stands for all of them
    Raises: EntryRefused where the visit is not on site, a point has been read already, or a time is yet to come
    """
    visit = open_visit(visit)
    _refuse_future([*readings, *no_readings], at)
    _refuse_read_twice(visit, readings, no_readings)
    _refuse_dropped_without_reason(readings)
    rows = [_row(visit, entry, by, at, file) for entry in readings]
    bulk.insert(Reading, rows)
    judge_rows(visit, rows, at=at)
    bulk.insert(NoReading, [_reason(visit, entry, by, at, file) for entry in no_readings])
    due.refresh([visit.structure_id], at=at)
    if file is None:
        facts = {"readings": len(rows), "reasons": len(no_readings), "entries": _told(readings, no_readings)}
        log.record(visit.firm, "readings entered", visit, by=by, at=at, facts=facts)
    return rows


@transaction.atomic
def correct(reading: Reading, entry: NewReading, *, reason: str, by: Person, at: datetime) -> Reading:
    """A correcting row: the reading it replaces stays as it was and counts no more.

    Raises: EntryRefused without a reason, for another point, or where it is corrected already
    """
    visit = open_visit(reading.visit, states=CORRECTED_IN)
    if not reason.strip():
        raise EntryRefused("Say why the reading is corrected.")
    if entry.point.pk != reading.point_id:
        raise EntryRefused(
            "A correction concerns the same point. Enter the other point's reading on its own."
        )
    if not Reading.objects.standing().filter(pk=reading.pk).exists():
        raise EntryRefused("This reading was corrected or withdrawn already. Correct the one that stands.")
    _refuse_future([entry], at)
    _refuse_dropped_without_reason([entry])
    row = _row(visit, entry, by, at, None)
    row.replaces, row.correction = reading, reason.strip()
    row.save(force_insert=True)
    judge_rows(visit, [row], at=at)
    facts = {
        "point": str(row.point.identity),
        "was": told(reading),
        "is": told(row),
        "reason": row.correction,
    }
    log.record(visit.firm, "reading corrected", visit, by=by, at=at, facts=facts)
    return row


def correctable(reading: Reading) -> bool:
    """Whether it counts, and its visit still takes corrections."""
    return reading.visit.state in CORRECTED_IN and Reading.objects.standing().filter(pk=reading.pk).exists()


def open_visit(visit: Visit, states: Iterable[str] = (VisitState.ON_SITE,)) -> Visit:
    """The visit, locked, if it takes entries in its present state."""
    fresh = (
        Visit.objects.select_for_update(of=("self",), no_key=True)
        .select_related("firm", "structure__site__client")
        .get(pk=visit.pk)
    )
    if fresh.state not in states:
        raise EntryRefused(
            f"Visit {fresh.number} is {fresh.state}. Readings are entered while it is on site; "
            "afterwards a correction with a reason is the way."
        )
    return fresh


def told(reading: Reading) -> str:
    """A reading in the log's words."""
    return f"{reading.text} {reading.unit}"


def _told(readings: Sequence[NewReading], no_readings: Sequence[NewNoReading]) -> list[str]:
    said = [f"{entry.point.identity}: {entry.text} {entry.unit}" for entry in readings]
    return said + [f"{entry.point.identity}: {entry.reason}" for entry in no_readings]


def _refuse_future(entries: Sequence[NewReading | NewNoReading], at: datetime) -> None:
    for entry in entries:
        if entry.at > at:
            raise EntryRefused(
                f"Point {entry.point.number}: that time lies in the future. Enter when it really was."
            )


def _refuse_dropped_without_reason(readings: Sequence[NewReading]) -> None:
    for entry in readings:
        for text, reason in entry.dropped:
            if not reason.strip():
                raise EntryRefused(f"Point {entry.point.number}: say why the display {text} is left out.")


def _refuse_read_twice(
    visit: Visit, readings: Sequence[NewReading], no_readings: Sequence[NewNoReading]
) -> None:
    read = set(Reading.objects.standing().filter(visit=visit).values_list("point_id", flat=True))
    for entry in readings:
        if entry.point.pk in read:
            raise EntryRefused(
                f"Point {entry.point.number} has been read at visit {visit.number} already. "
                "Correct that reading instead."
            )
        read.add(entry.point.pk)
    for reason in no_readings:
        if reason.point.pk in read:
            raise EntryRefused(
                f"Point {reason.point.number} has a reading at visit {visit.number}: it cannot also have a reason "
                "for none."
            )


def _row(visit: Visit, entry: NewReading, by: Person, at: datetime, file: ImportedFile | None) -> Reading:
    display = parse_display(entry.text)
    exact = display.number if display.kind == NUMBER else None
    return Reading(
        visit_id=visit.pk,
        point=entry.point,
        instrument_id=entry.range.instrument_id,
        range=entry.range,
        text=entry.text,
        unit=entry.unit,
        value_ohm=None if exact is None else exact * units.factor_to_si(entry.unit, units.RESISTANCE),
        method=entry.method,
        current_a=entry.current_a,
        set_current_a=entry.set_current_a,
        temperature_c=entry.temperature_c,
        temperature_source=entry.temperature_source,
        temperature_accuracy_k=entry.temperature_accuracy_k,
        repeats="\n".join(entry.repeats),
        reversed_displays="\n".join(entry.reversed_displays),
        dropped="\n".join(f"{text} {reason}" for text, reason in entry.dropped),
        positions="\n".join(f"{percent} {text}" for percent, text in entry.positions),
        null_ohm=entry.null_ohm,
        null_taken_at=entry.null_taken_at,
        waited_s=entry.waited_s,
        open_circuit_v=entry.open_circuit_v,
        joint_state=entry.joint_state,
        at=entry.at,
        by_id=by.pk,
        recorded_at=at,
        file_id=file.pk if file else None,
    )


def _reason(
    visit: Visit, entry: NewNoReading, by: Person, at: datetime, file: ImportedFile | None
) -> NoReading:
    return NoReading(
        visit=visit,
        point=entry.point,
        reason=entry.reason,
        words=entry.words,
        at=entry.at,
        by=by,
        recorded_at=at,
        file=file,
    )


@dataclass(slots=True)
class _Known:
    """What judging a visit's readings looks up, fetched once for all of them."""

    visit: Visit
    zone: ZoneInfo
    limits: list[LimitRule]
    calibrations: dict[int, list[Calibration]] = field(default_factory=lambda: defaultdict(list))
    parts: dict[int, list[PartDetail]] = field(default_factory=lambda: defaultdict(list))
    earlier: dict[int, list[Reading]] = field(default_factory=lambda: defaultdict(list))
    moved: dict[int, list[int]] = field(default_factory=dict)
    chosen: dict[tuple[str, date, int], tuple[LimitRule | None, int | None, judging.LimitFacts]] = field(
        default_factory=dict
    )
    meters: dict[tuple[int, date], tuple[Calibration | None, judging.InstrumentFacts]] = field(
        default_factory=dict
    )

    def limit(self, point: TestPoint, day: date) -> tuple[LimitRule | None, int | None, judging.LimitFacts]:
        """The limit in force for a kind of point on a day, and the electrodes it counts; the same few come again."""
        counts = point.quantity == Quantity.EARTH
        key = point.quantity, day, point.part_id if counts else 0
        if key not in self.chosen:
            rule = evidence.choose_limit(self.limits, point.quantity, self.visit.structure, day)
            electrodes = evidence.electrodes_counted(rule, point, day)
            self.chosen[key] = rule, electrodes, evidence.limit_facts(rule, electrodes)
        return self.chosen[key]

    def meter(self, row: Reading, day: date) -> tuple[Calibration | None, judging.InstrumentFacts]:
        """The calibration known for a day, and the accuracy of the range."""
        if (row.range_id, day) not in self.meters:
            calibration = evidence.choose_calibration(self.calibrations[row.instrument_id], day)
            self.meters[row.range_id, day] = calibration, evidence.instrument_facts(row.range, calibration)
        return self.meters[row.range_id, day]


def judge_rows(visit: Visit, rows: Sequence[Reading], *, at: datetime) -> None:
    """Store a verdict for each new reading of a visit, reckoned from what stands on record now."""
    known = _look_up(visit, rows)
    bulk.insert_values(Verdict, (_verdict(row, known, at) for row in rows))


def _look_up(visit: Visit, rows: Sequence[Reading]) -> _Known:
    zone = ZoneInfo(visit.structure.site.time_zone)
    known = _Known(visit, zone, list(LimitRule.objects.filter(firm=visit.firm).with_adoption()))
    for calibration in Calibration.objects.standing().filter(
        instrument__in={row.instrument_id for row in rows}
    ):
        known.calibrations[calibration.instrument_id].append(calibration)
    parts = PartDetail.objects.filter(part__structure=visit.structure_id)
    earlier = Reading.objects.standing().filter(
        point__structure=visit.structure_id, verdict__corrected_ohm__isnull=False
    )
    if len(rows) == 1:
        parts = parts.filter(part=rows[0].point.part_id)
        earlier = earlier.filter(point=rows[0].point_id)
    for detail in parts.order_by("since", "recorded_at", "pk").iterator(chunk_size=BATCH):
        known.parts[detail.part_id].append(detail)
    for reading in earlier.select_related("verdict").order_by("at", "pk").iterator(chunk_size=BATCH):
        known.earlier[reading.point_id].append(reading)
    known.moved = baselines.moved_to(Rebase.objects.filter(point__structure=visit.structure_id))
    return known


def _verdict(row: Reading, known: _Known, at: datetime) -> dict[str, Any]:
    """The columns of a reading's verdict. Its own row has none yet, so it is not among the earlier ones."""
    facts = evidence.reading_facts(row, row.range, known.zone)
    day = facts.at.date()
    previous, baseline = _compare_with(
        known.earlier.get(row.point_id, []), known.moved.get(row.point_id, ()), row
    )
    rule, electrodes, limit = known.limit(row.point, day)
    calibration, meter = known.meter(row, day)
    part = evidence.choose_part(known.parts.get(row.point.part_id, []), day)
    judged = judging.judge(
        evidence.point_facts(row.point.quantity, part),
        limit,
        meter,
        facts,
        evidence.history_of(previous, baseline, known.zone),
    )
    return {
        "reading_id": row.pk,
        "recorded_at": at,
        "calculation_version": judging.CALCULATION_VERSION,
        "limit_id": rule and rule.pk,
        "calibration_id": calibration and calibration.pk,
        "part_id": part and part.pk,
        "electrodes": electrodes,
        "previous_id": previous and previous.pk,
        "baseline_id": baseline and baseline.pk,
        **evidence.verdict_columns(judged),
    }


def _compare_with(
    earlier: list[Reading], moved: Sequence[int], row: Reading
) -> tuple[Reading | None, Reading | None]:
    """The last like reading (else the last of any method) before this one, and the baseline of the like ones."""
    before = [reading for reading in earlier if reading.at < row.at]
    like = [reading for reading in before if reading.method == row.method]
    comparable = like or before
    return comparable[-1] if comparable else None, baselines.in_force(like, moved)
