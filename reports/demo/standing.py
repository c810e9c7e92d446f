"""What stands and by whose rule: files handed in, points renumbered, events, suspensions, rules' lives."""

import copy
from collections.abc import Callable, Iterator
from datetime import date, datetime
from functools import partial
from pathlib import PurePosixPath

from inspections.actions.dispensations import dispense, withdraw
from inspections.actions.findings import report_event, suspend
from inspections.actions.none_required import none_required
from inspections.actions.owning import withdraw_event
from inspections.actions.register import renumber_point
from inspections.actions.rule_proposals import propose
from inspections.actions.rules import adopt
from inspections.imports import Instruments, Intervals, Limits, Register
from inspections.models import Dispensation, IntervalRule, LimitRule
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
        ("dispensations.csv", _dispense),
        ("proposals.csv", _propose),
        ("none_required.csv", _none_required),
    ):
        for row in scenario.rows(name):
            at = scenario.instant(row["recorded"])
            yield Act(at, partial(do, row=row, at=at))
    for row in scenario.rows("dispensations.csv"):
        if row["withdrawn"]:
            at = scenario.instant(row["withdrawn"])
            yield Act(at, partial(_withdraw, row=row, at=at))
    for row in scenario.rows("events.csv"):
        if row["withdrawn"]:
            at = scenario.instant(row["withdrawn"])
            yield Act(at, partial(_withdraw_event, row=row, at=at))


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


def _withdraw_event(stage: Stage, *, row: Row, at: datetime) -> None:
    structure = stage.structure(row["site"], row["structure"])
    event = structure.events.get(kind=row["kind"], on=date.fromisoformat(row["on"]))
    withdraw_event(event, words=row["withdrawn_because"], by=stage.people[row["withdrawn_by"]], at=at)


def _suspend(stage: Stage, *, row: Row, at: datetime) -> None:
    suspend(
        stage.structure(row["site"], row["structure"]),
        since=date.fromisoformat(row["since"]),
        until=scenario.day(row["until"]),
        authority=row["authority"],
        by=stage.people[row["by"]],
        at=at,
    )


def _dispense(stage: Stage, *, row: Row, at: datetime) -> None:
    dispense(
        _interval(stage, row["rule"], row["edition"]),
        structure=stage.structure(row["site"], row["structure"]),
        until=date.fromisoformat(row["until"]),
        document=row["document"],
        given_by=row["given_by"],
        given_on=date.fromisoformat(row["given_on"]),
        words=row["words"],
        by=stage.people[row["by"]],
        at=at,
    )


def _withdraw(stage: Stage, *, row: Row, at: datetime) -> None:
    given = Dispensation.objects.select_related("interval").get(
        interval__firm=stage.contractor, document=row["document"]
    )
    withdraw(given, words=row["withdrawn_because"], by=stage.people[row["by"]], at=at)


def _propose(stage: Stage, *, row: Row, at: datetime) -> None:
    """A new edition that differs from the one it follows in its months and its source alone."""
    edition = copy.copy(_interval(stage, row["rule"], row["follows"]))
    edition.pk, edition._state.adding = None, True
    edition.edition, edition.source, edition.months = row["edition"], row["source"], int(row["months"])
    propose(edition, words=row["words"], by=stage.people[row["by"]], at=at)


def _none_required(stage: Stage, *, row: Row, at: datetime) -> None:
    none_required(
        stage.structure(row["site"], row["structure"]), since=date.fromisoformat(row["since"]), words=row["words"],
        by=stage.people[row["by"]], at=at,
    )  # fmt: skip


def _interval(stage: Stage, code: str, edition: str) -> IntervalRule:
    return IntervalRule.objects.select_related("firm").get(firm=stage.contractor, code=code, edition=edition)
