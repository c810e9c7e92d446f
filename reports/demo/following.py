"""What became of defects: told and seen again during a visit, repaired, re-tested and accepted afterwards."""

from collections.abc import Callable, Iterator
from datetime import datetime
from functools import partial
from zoneinfo import ZoneInfo

from inspections.actions import defects
from inspections.models import Defect, DefectStepKind
from reports.demo import scenario
from reports.demo.scenario import Row
from reports.demo.stage import Act, Stage
from sites.models import Person

AT_VISIT = (DefectStepKind.TOLD, DefectStepKind.SEEN_AGAIN)


def acts() -> Iterator[Act]:
    """The acts of the office, each at the time it was recorded; the days they tell of are those of the office."""
    done: dict[str, Callable[..., None]] = {
        DefectStepKind.REPAIRED: _repair,
        DefectStepKind.RETESTED: _retest,
        DefectStepKind.ACCEPTED: _accept,
    }
    for row in scenario.rows("defect_steps.csv"):
        if row["kind"] in done:
            at = scenario.instant(row["recorded"])
            yield Act(at, partial(done[row["kind"]], row=row, at=at))


def during(stage: Stage, visit: str, *, by: Person, at: datetime, zone: ZoneInfo) -> None:
    """What the sheet of a visit tells of defects: who was told, what was seen again."""
    for row in scenario.rows("defect_steps.csv"):
        if row["at_visit"] != visit or row["kind"] not in AT_VISIT:
            continue
        defect, so_at = _defect(stage, row), scenario.instant(row["at"], zone)
        if row["kind"] == DefectStepKind.TOLD:
            defects.tell(
                defect, to_whom=row["who"], how=row["how"], told_at=so_at, words=row["words"], by=by, at=at
            )
        else:
            defects.see_again(defect, stage.visits[visit], seen_at=so_at, words=row["words"], by=by, at=at)


def _defect(stage: Stage, row: Row) -> Defect:
    return Defect.objects.get(visit=stage.visits[row["visit"]], place=row["place"])


def _repair(stage: Stage, *, row: Row, at: datetime) -> None:
    defects.repair(
        _defect(stage, row), words=row["words"], done_by=row["who"], done_at=scenario.instant(row["at"]),
        by=stage.people[row["by"]], at=at,
    )  # fmt: skip


def _retest(stage: Stage, *, row: Row, at: datetime) -> None:
    reading = stage.visits[row["at_visit"]].readings.standing().get(point__number=row["point"])
    defects.close_by_reading(_defect(stage, row), reading, by=stage.people[row["by"]], at=at)


def _accept(stage: Stage, *, row: Row, at: datetime) -> None:
    until = scenario.day(row["until"])
    if until is None:
        raise LookupError("An acceptance needs its last day. Check defect_steps.csv in fixtures/demo.")
    defects.accept(
        _defect(stage, row), accepted_by=row["who"], document=row["document"], until=until, words=row["words"],
        by=stage.people[row["by"]], at=at,
    )  # fmt: skip
