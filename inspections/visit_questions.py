"""What a visit asks as a whole and point by point: its rows to the pure questions, in a constant number of queries."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from inspections import evidence
from inspections.calculations.conductors import TWENTY_C, conductor_ohm
from inspections.calculations.temperature import HIGHEST_C, LOWEST_C, correction
from inspections.models import Reading, Verdict, Visit
from inspections.rules.judging import PointFacts
from inspections.rules.judging.facts import NOT_TAKEN
from inspections.rules.questions import DEFAULTS, Thresholds, VisitFacts, VisitReading, visit_questions
from sites.models import TestPoint

NEEDED = (
    "point",
    "range__instrument",
    "verdict__limit",
    "verdict__part",
    "verdict__previous__verdict",
)


@dataclass(frozen=True, slots=True)
class Question:
    """point: None for the visit as a whole. sentence: says what was seen, and asks."""

    point: TestPoint | None
    sentence: str


def questions_of(visit: Visit, thresholds: Thresholds = DEFAULTS) -> list[Question]:
    """Everything the visit asks, first as a whole; a clean visit asks nothing."""
    zone = ZoneInfo(visit.structure.site.time_zone)
    standing = visit.readings.standing().select_related(*NEEDED)
    rows = list(standing.order_by("point__number_order", "pk"))
    points = {row.point_id: row.point for row in rows}
    facts = VisitFacts(
        tuple(_reading(row, zone) for row in rows),
        arrived_at=_local(visit.on_site_from, zone),
        left_at=_local(visit.on_site_until, zone),
    )
    return [
        Question(None if asked.key is None else points[asked.key], asked.sentence)
        for asked in visit_questions(facts, thresholds)
    ]


def _local(at: datetime | None, zone: ZoneInfo) -> datetime | None:
    return None if at is None else at.astimezone(zone)


def _reading(row: Reading, zone: ZoneInfo) -> VisitReading:
    verdict = row.verdict
    before = _last_like(verdict, row)
    part = evidence.point_facts(row.point.quantity, verdict.part)
    return VisitReading(
        key=row.point_id,
        number=row.point.number,
        texts=(row.text, *evidence.reading_facts(row, row.range, zone).repeats),
        unit=row.unit,
        step_ohm=row.range.step_ohm,
        instrument=str(row.range.instrument),
        at=row.at.astimezone(zone),
        entered_at=None if row.replaces_id else row.recorded_at.astimezone(zone),
        from_file=row.file_id is not None,
        value_ohm=row.value_ohm,
        before_ohm=before.value_ohm if before else None,
        corrected_ohm=verdict.corrected_ohm,
        uncertainty_ohm=verdict.uncertainty_ohm,
        before_corrected_ohm=before.verdict.corrected_ohm if before else None,
        alone_ohm=_alone_ohm(part, _holds_at_c(verdict, row)),
        parallel_paths=part.parallel_paths,
    )


def _last_like(verdict: Verdict, row: Reading) -> Reading | None:
    """The last earlier reading by the same method, of another visit."""
    before = verdict.previous
    like = before is not None and before.method == row.method and before.visit_id != row.visit_id
    return before if like else None


def _holds_at_c(verdict: Verdict, row: Reading) -> Decimal:
    """The temperature the verdict's value holds for: the rule's own, else the metal's, else 20 °C."""
    reference = verdict.limit.reference_temperature_c if verdict.limit else None
    if reference is not None:
        return reference
    taken = None if row.temperature_source == NOT_TAKEN else row.temperature_c
    return TWENTY_C if taken is None else taken


def _alone_ohm(path: PointFacts, at_c: Decimal) -> Decimal | None:
    """The recorded path alone at a temperature; None where its metal, length or section is not recorded."""
    metal = path.material
    if metal is None or metal.resistivity_ohm_m is None or path.length_m is None or path.section_m2 is None:
        return None
    cold = conductor_ohm(metal.resistivity_ohm_m, path.length_m, path.section_m2)
    if metal.alpha_per_k is None or not LOWEST_C <= at_c <= HIGHEST_C:
        return cold
    return cold * correction(metal.alpha_per_k, metal.alpha_at_c, TWENTY_C, at_c).factor
