"""From rows to the facts a verdict stands on, and back from a stored verdict to its working."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

from inspections import materials
from inspections.models import Calibration, InstrumentRange, LimitRule, Reading, Verdict
from inspections.rules import judging
from sites.models import PartDetail, PartFacts, Quantity, Structure, TestPoint

MM2 = Decimal("0.000001")
SPECIFIC = (("structure", 8), ("site", 4), ("client", 2), ("explosion_risk", 1))


def point_facts(quantity: str, part: PartFacts | None) -> judging.PointFacts:
    """What is measured, and through which metal. A joint has a metal but no length of its own."""
    if part is None or not part.material:
        return judging.PointFacts(quantity=quantity, parallel_paths=part.parallel_paths if part else None)
    whole_path = quantity in (Quantity.BOND, Quantity.CONTINUITY)
    section = part.section_mm2
    return judging.PointFacts(
        quantity=quantity,
        material=materials.material(part.material),
        length_m=part.length_m if whole_path else None,
        section_m2=section * MM2 if whole_path and section is not None else None,
        parallel_paths=part.parallel_paths,
    )


def limit_facts(limit: LimitRule | None, electrodes: int | None = None) -> judging.LimitFacts:
    """The rule as the engine takes it; without a rule, readings are for information.

    electrodes: as ``electrodes_counted`` gave it on the day
    """
    if limit is None:
        return judging.LimitFacts(limit_ohm=None, label="No limit is adopted for this kind of point")
    low, high = limit.open_circuit_min_v, limit.open_circuit_max_v
    return judging.LimitFacts(
        limit_ohm=limit.limit_ohm,
        reference_temperature_c=limit.reference_temperature_c,
        decision=limit.decision,
        guard=limit.guard,
        methods=tuple(limit.methods.split(",")) if limit.methods else (),
        minimum_current_a=limit.minimum_current_a,
        repeats=limit.repeats,
        allowed_spread_percent=limit.allowed_spread_percent,
        open_circuit_voltage_v=(low, high) if low is not None and high is not None else None,
        label=f"{limit.title}, {limit.source}, {limit.edition}",
        electrodes=electrodes if limit.times_per_electrode is not None else None,
        times=limit.times_per_electrode or Decimal(1),
    )


def electrodes_counted(limit: LimitRule | None, point: TestPoint, day: date) -> int | None:
    """How many electrodes the point's system had on a day; None where the rule does not count them.

    point: with its part
    """
    if limit is None or limit.times_per_electrode is None:
        return None
    same = TestPoint.objects.filter(part__system=point.part.system_id, quantity=Quantity.EARTH)
    return max(same.standing_on(day).count(), 1)


def instrument_facts(
    meter_range: InstrumentRange, calibration: Calibration | None
) -> judging.InstrumentFacts:
    """Accuracy of the range, and the calibration known for the day (if any)."""
    return judging.InstrumentFacts(
        calibrated_on=calibration.calibrated_on if calibration else None,
        valid_until=calibration.valid_until if calibration else None,
        percent_of_reading=meter_range.percent_of_reading,
        digits=meter_range.digits,
        label=f"{meter_range.instrument}, certificate {calibration.certificate}"
        if calibration
        else str(meter_range.instrument),
    )


def reading_facts(reading: Reading, meter_range: InstrumentRange, zone: ZoneInfo) -> judging.ReadingFacts:
    """The reading as displayed, its instant in the site's own time."""
    return judging.ReadingFacts(
        text=reading.text,
        unit=reading.unit,
        step_ohm=meter_range.step_ohm,
        range_top_ohm=meter_range.top_ohm,
        method=reading.method,
        current_a=reading.current_a,
        set_current_a=reading.set_current_a,
        temperature_c=reading.temperature_c,
        temperature_source=reading.temperature_source,
        temperature_accuracy_k=reading.temperature_accuracy_k,
        at=reading.at.astimezone(zone),
        repeats=_lines(reading.repeats),
        reversed=_lines(reading.reversed_displays),
        null_ohm=reading.null_ohm,
        null_taken_at=reading.null_taken_at.astimezone(zone) if reading.null_taken_at else None,
        waited_s=reading.waited_s,
        dropped=tuple(_dropped(line) for line in _lines(reading.dropped)),
        positions=tuple(_position(line) for line in _lines(reading.positions)),
        open_circuit_voltage_v=reading.open_circuit_v,
        joint_state=reading.joint_state or None,
    )


def _lines(text: str) -> tuple[str, ...]:
    return tuple(text.split("\n")) if text else ()


def _position(line: str) -> tuple[Decimal, str]:
    percent, text = line.split(" ", 1)
    return Decimal(percent), text


def _dropped(line: str) -> tuple[str, str]:
    text, reason = line.split(" ", 1)
    return text, reason


def earlier_reading(reading: Reading, zone: ZoneInfo, *, baseline: bool) -> judging.EarlierReading:
    """An earlier result with its stored verdict, as the engine compares against it."""
    verdict = reading.verdict
    if verdict.corrected_ohm is None:
        raise ValueError("A reading without a value has nothing to compare with.")
    return judging.EarlierReading(
        on=reading.at.astimezone(zone).date(),
        corrected_ohm=verdict.corrected_ohm,
        uncertainty_ohm=verdict.uncertainty_ohm,
        method=reading.method,
        baseline=baseline,
    )


def history_of(
    previous: Reading | None, baseline: Reading | None, zone: ZoneInfo
) -> tuple[judging.EarlierReading, ...]:
    """At most two earlier results, oldest first: the baseline and the one before this."""
    rows = []
    if baseline is not None and (previous is None or baseline.pk != previous.pk):
        rows.append(earlier_reading(baseline, zone, baseline=True))
    if previous is not None:
        same = baseline is not None and baseline.pk == previous.pk
        rows.append(earlier_reading(previous, zone, baseline=same))
    return tuple(rows)


def choose_limit(
    limits: Iterable[LimitRule], quantity: str, structure: Structure, day: date
) -> LimitRule | None:
    """The limit in force on a day for one kind of point: the most particular, then the one adopted last.

    limits: with ``adopted_from`` and ``adopted_until`` (``EditionQuerySet.with_adoption``)
    """
    fitting = [rule for rule in limits if rule.quantity == quantity and _applies(rule, structure, day)]
    return max(fitting, key=_rank, default=None)


def _applies(rule: LimitRule, structure: Structure, day: date) -> bool:
    if rule.adopted_from is None or not rule.adopted_from <= day <= (rule.adopted_until or date.max):
        return False
    return (
        rule.structure_id in (None, structure.pk)
        and rule.site_id in (None, structure.site_id)
        and rule.client_id in (None, structure.site.client_id)
        and rule.explosion_risk in (None, structure.explosion_risk)
    )


def _rank(rule: LimitRule) -> tuple[int, date, int]:
    particular = sum(
        weight
        for name, weight in SPECIFIC
        if getattr(rule, name if name == "explosion_risk" else f"{name}_id") is not None
    )
    return particular, rule.adopted_from or date.min, rule.pk


def choose_calibration(calibrations: Sequence[Calibration], day: date) -> Calibration | None:
    """The newest calibration covering the day, else the last one made by then, else none."""
    made = [row for row in calibrations if row.calibrated_on <= day]
    covering = [row for row in made if row.valid_until >= day]
    return max(covering or made, key=lambda row: (row.calibrated_on, row.pk), default=None)


def choose_part(details: Sequence[PartDetail], day: date) -> PartDetail | None:
    """What was said of the part on a day; before the first word about it, that first word."""
    if len(details) <= 1:
        return details[0] if details else None
    told = [row for row in details if row.since <= day] or details[:1]
    return max(told, key=lambda row: (row.since, row.recorded_at, row.pk), default=None)


VERDICT_ROWS = (
    "limit",
    "calibration",
    "part",
    "previous__verdict",
    "baseline__verdict",
    "reading__range__instrument",
    "reading__point__structure__site",
)


def judge_again(verdict: Verdict) -> judging.Verdict:
    """The verdict with its working, reckoned again from the rows it was made from, by its own calculation.

    verdict: fetched with ``select_related(*VERDICT_ROWS)``
    """
    reading = verdict.reading
    point: TestPoint = reading.point
    zone = ZoneInfo(point.structure.site.time_zone)
    return judging.judge(
        point_facts(point.quantity, verdict.part),
        limit_facts(verdict.limit, verdict.electrodes),
        instrument_facts(reading.range, verdict.calibration),
        reading_facts(reading, reading.range, zone),
        history_of(verdict.previous, verdict.baseline, zone),
        verdict.calculation_version,
    )


def verdict_columns(judged: judging.Verdict) -> dict[str, object]:
    """The columns a stored verdict keeps of a judged one."""
    return {
        "outcome": judged.outcome,
        "statement": judged.statement or "",
        "reason": judged.reason,
        "corrected_ohm": judged.corrected_ohm,
        "uncertainty_ohm": judged.uncertainty_ohm,
        "change": judged.change.state,
        "change_percent": judged.change.percent,
        "baseline_percent": judged.change.baseline_percent,
        "questions": "\n".join(judged.questions),
    }
