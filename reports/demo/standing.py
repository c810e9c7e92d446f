"""What stands and by whose rule: files handed in, points renumbered, events, suspensions, ends of adoption."""

from collections.abc import Callable, Iterator
from datetime import date, datetime
from functools import partial
from pathlib import PurePosixPath

from inspections.actions.findings import report_event, suspend
from inspections.actions.register import renumber_point
from inspections.actions.rules import adopt
from inspections.imports import Instruments, Intervals, Limits, Register
from inspections.models import IntervalRule, LimitRule
from reports.demo import scenario
from reports.demo.scenario import Row
from reports.demo.stage import Act, Stage
from sites import imports
from sites.models import ImportKind

IMPORTERS: dict[str, Callable[[], imports.Importer]] = {
    ImportKind.REGISTER: Register,
    ImportKind.INSTRUMENTS: Instruments,
    ImportKind.LIMITS: Limits,
    ImportKind.INTERVALS: Intervals,
}


def acts() -> Iterator[Act]:
    for name, do in (
        ("imports.csv", _hand_in),
        ("adoptions.csv", _adopt),
        ("renumberings.csv", _renumber),
        ("events.csv", _report),
        ("suspensions.csv", _suspend),
    ):
        for row in scenario.rows(name):
            at = scenario.instant(row["recorded"])
            yield Act(at, partial(do, row=row, at=at))


def _hand_in(stage: Stage, *, row: Row, at: datetime) -> None:
    imports.run(
        IMPORTERS[row["kind"]](),
        firm=stage.contractor,
        name=PurePosixPath(row["file"]).name,
        content=scenario.content(row["file"]),
        by=stage.people[row["by"]],
        at=at,
    )


def _adopt(stage: Stage, *, row: Row, at: datetime) -> None:
    editions: dict[str, type[LimitRule] | type[IntervalRule]] = {"limit": LimitRule, "interval": IntervalRule}
    edition = editions[row["kind"]].objects.get(
        firm=stage.contractor, code=row["code"], edition=row["edition"]
    )
    adopt(
        edition,
        adopted_from=date.fromisoformat(row["adopted_from"]),
        adopted_until=scenario.day(row["adopted_until"]),
        by=stage.people[row["by"]],
        at=at,
    )


def _renumber(stage: Stage, *, row: Row, at: datetime) -> None:
    structure = stage.structure(row["site"], row["structure"])
    renumber_point(
        structure.points.get(number=row["point"], retired_on__isnull=True),
        number=row["number"],
        since=date.fromisoformat(row["since"]),
        by=stage.people[row["by"]],
        at=at,
    )


def _report(stage: Stage, *, row: Row, at: datetime) -> None:
    report_event(
        stage.structure(row["site"], row["structure"]),
        kind=row["kind"],
        on=date.fromisoformat(row["on"]),
        inspect_within_days=int(row["inspect_within_days"]),
        reported_by=row["reported_by"],
        words=row["words"],
        by=stage.people[row["by"]],
        at=at,
    )


def _suspend(stage: Stage, *, row: Row, at: datetime) -> None:
    suspend(
        stage.structure(row["site"], row["structure"]),
        since=date.fromisoformat(row["since"]),
        until=scenario.day(row["until"]),
        authority=row["authority"],
        by=stage.people[row["by"]],
        at=at,
    )
