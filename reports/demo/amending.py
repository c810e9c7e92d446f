"""Reports put right after they were issued: opened again, corrected, approved, issued as the next issue."""

from collections.abc import Iterator
from dataclasses import asdict
from datetime import datetime, timedelta
from functools import partial

from inspections.actions import amending, visits
from inspections.actions.entries import NewReading
from inspections.actions.readings import correct
from inspections.models import Reading
from reports import actions
from reports.demo import scenario
from reports.demo.scenario import Row
from reports.demo.stage import Act, Stage
from sites.models import Role

# A report's file is made a moment after its facts are frozen.
FILE_AFTER = timedelta(minutes=2)


def acts() -> Iterator[Act]:
    """Times are those of the office, where amendments are made."""
    steps = (("opened", _open), ("corrected", _correct), ("approved", _approve), ("issued", _issue))
    for row in scenario.rows("amendments.csv"):
        for column, step in steps:
            if row[column]:
                at = scenario.instant(row[column])
                yield Act(at, partial(step, row=row, at=at))
        if row["issued"]:
            at = scenario.instant(row["issued"]) + FILE_AFTER
            yield Act(at, partial(_attach, row=row, at=at))


def _open(stage: Stage, *, row: Row, at: datetime) -> None:
    issue = stage.issues[row["visit"]]
    stage.visits[row["visit"]] = actions.open_amendment(
        issue, reason=row["reason"], by=stage.first(Role.SIGNATORY), at=at
    )


def _correct(stage: Stage, *, row: Row, at: datetime) -> None:
    """A reading's display, or one statement of the visit."""
    visit, by = stage.visits[row["visit"]], stage.first(Role.REVIEWER)
    if row["point"]:
        wrong = visit.readings.standing().select_related("range", "point").get(point__number=row["point"])
        correct(wrong, _as_read(wrong, row["display"]), reason=row["why"], by=by, at=at)
        return
    told = {**asdict(amending.Statement.of(visit)), row["field"]: row["words"]}
    amending.restate(visit, amending.Statement(**told), reason=row["why"], by=by, at=at)


def _as_read(wrong: Reading, display: str) -> NewReading:
    """The same reading with another display."""
    same = (
        "unit", "method", "at", "current_a", "temperature_c", "temperature_source", "temperature_accuracy_k",
        "joint_state",
    )  # fmt: skip
    kept = {name: getattr(wrong, name) for name in same}
    return NewReading(point=wrong.point, range=wrong.range, text=display, **kept)


def _approve(stage: Stage, *, row: Row, at: datetime) -> None:
    visits.approve(stage.visits[row["visit"]], by=stage.first(Role.REVIEWER), at=at)


def _issue(stage: Stage, *, row: Row, at: datetime) -> None:
    visit = stage.visits[row["visit"]]
    stage.issues[row["visit"]] = actions.authorise(visit, by=stage.first(Role.SIGNATORY), at=at)


def _attach(stage: Stage, *, row: Row, at: datetime) -> None:
    actions.attach_file(stage.issues[row["visit"]], at=at)
