"""Visits: planned, entered, handed in, approved, issued; each step where the scenario gives its time."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from inspections import looking
from inspections.actions import looking as acts_of_looking
from inspections.actions import planning, visits
from inspections.actions.findings import record_defect
from inspections.imports import Readings
from inspections.models import Look, NotSeen, Visit
from reports.actions import attach_file, authorise
from reports.demo import following, scenario
from reports.demo.scenario import Row
from reports.demo.stage import Act, Stage
from sites import imports
from sites.models import Part, Person, Role

# A report's file is made a moment after its facts are frozen.
FILE_AFTER = timedelta(minutes=2)

Step = Callable[..., None]


def acts() -> Iterator[Act]:
    """Times of a visit are those of its site's own clock; planning is timed at the office."""
    zones = _zones()
    defects, looks = _by_visit("defects.csv"), _by_visit("parts.csv")
    for row in scenario.rows("visits.csv"):
        zone = zones[row["site"]]
        planned = scenario.instant(row["planned"])
        yield Act(planned, partial(_plan, row=row, at=planned))
        steps: tuple[tuple[str, Step], ...] = (
            ("entered", partial(_enter, defects=defects[row["visit"]], looks=looks[row["visit"]], zone=zone)),
            ("handed_in", _hand_in),
            ("approved", _approve),
            ("issued", _issue),
        )
        for column, step in steps:
            if row[column]:
                at = scenario.instant(row[column], zone)
                yield Act(at, partial(step, row=row, at=at))
        if row["issued"]:
            at = scenario.instant(row["issued"], zone) + FILE_AFTER
            yield Act(at, partial(_attach, row=row, at=at))
    for row in scenario.rows("plans.csv"):
        at = scenario.instant(row["at"])
        yield Act(at, partial(_replan, row=row, at=at))


def _zones() -> dict[str, ZoneInfo]:
    """Each site's zone, from the register files."""
    return {
        row["site"]: ZoneInfo(row["time_zone"])
        for file in scenario.rows("imports.csv")
        if file["kind"] == "register"
        for row in scenario.rows(file["file"])
    }


def _by_visit(file: str) -> dict[str, list[Row]]:
    found: dict[str, list[Row]] = defaultdict(list)
    for row in scenario.rows(file):
        found[row["visit"]].append(row)
    return found


def _inspectors(stage: Stage, row: Row) -> list[Person]:
    return [stage.people[name] for name in scenario.several(row["inspectors"])]


def _plan(stage: Stage, *, row: Row, at: datetime) -> None:
    structure = stage.structure(row["site"], row["structure"])
    numbers = scenario.several(row["points"])
    stage.visits[row["visit"]] = visits.plan(
        structure,
        kind=row["kind"],
        purpose=row["purpose"],
        planned_on=date.fromisoformat(row["planned_on"]),
        inspectors=_inspectors(stage, row),
        points=structure.points.filter(number__in=numbers, retired_on__isnull=True) if numbers else (),
        by=stage.first(Role.PLANNER),
        at=at,
    )


def _replan(stage: Stage, *, row: Row, at: datetime) -> None:
    """A plan moves or is given up, with its reason; what is due stays due."""
    visit, by = stage.visits[row["visit"]], stage.first(Role.PLANNER)
    why = {"reason": row["reason"], "words": row["words"]}
    if row["act"] == "cancel":
        planning.cancel(visit, **why, by=by, at=at)
    else:
        planning.move(visit, planned_on=date.fromisoformat(row["planned_on"]), **why, by=by, at=at)


def _enter(
    stage: Stage, *, row: Row, at: datetime, defects: list[Row], looks: list[Row], zone: ZoneInfo
) -> None:
    """The day's sheet: times on site, conditions, readings, defects, parts, and the end of the field work."""
    visit, by = stage.visits[row["visit"]], _inspectors(stage, row)[0]
    visits.start(visit, arrived_at=scenario.instant(row["arrived"], zone), by=by, at=at)
    conditions = visits.Conditions(
        weather=row["weather"],
        rain_last_7_days=row["rain_last_7_days"],
        soil=row["soil"],
        air_temperature=row["air_temperature"],
    )
    visits.note_conditions(visit, conditions, by=by, at=at)
    sheet = f"readings/{row['visit']}.csv"
    if (scenario.FOLDER / sheet).exists():
        imports.run(
            Readings(visit),
            firm=stage.contractor,
            name=f"{row['visit']}.csv",
            content=scenario.content(sheet),
            by=by,
            at=at,
        )
    for found in defects:
        _record_defect(stage, row, found, by, at, zone)
    following.during(stage, row["visit"], by=by, at=at, zone=zone)
    _look(visit, row, {look["part"]: look for look in looks}, by, at, zone)
    if row["left"]:
        visits.complete_field_work(
            visit,
            left_at=scenario.instant(row["left"], zone),
            escort=row["escort"],
            agreed_limitations=row["limitations"],
            by=by,
            at=at,
        )


def _record_defect(stage: Stage, row: Row, found: Row, by: Person, at: datetime, zone: ZoneInfo) -> None:
    visit = stage.visits[row["visit"]]
    point = visit.structure.points.get(number=found["point"]) if found["point"] else None
    record_defect(
        visit,
        point=point,
        place=found["place"],
        words=found["words"],
        urgency=stage.urgencies[found["urgency"]],
        found_at=scenario.instant(found["found"], zone),
        by=by,
        at=at,
    )


def _look(visit: Visit, row: Row, told: dict[str, Row], by: Person, at: datetime, zone: ZoneInfo) -> None:
    """Every part of the structure was seen when the inspector left, but for those that the scenario tells of."""
    seen_at = scenario.instant(row["left"] or row["arrived"], zone)
    parts = looking.parts_unanswered(visit, seen_at.astimezone(zone).date()).order_by("pk")
    entries = [
        _told_of(visit, part, told[part.name], seen_at)
        if part.name in told
        else acts_of_looking.NewLook(part, Look.SEEN, seen_at)
        for part in parts
        if told.get(part.name, {}).get("outcome") != "not yet"
    ]
    if entries:
        acts_of_looking.record(visit, entries, by=by, at=at)


def _told_of(visit: Visit, part: Part, told: Row, at: datetime) -> acts_of_looking.NewLook:
    return acts_of_looking.NewLook(
        part,
        Look(told["outcome"]),
        at,
        NotSeen(told["reason"]) if told["reason"] else None,
        told["words"],
        defect=visit.defects.get(place=told["defect"]) if told["defect"] else None,
    )


def _hand_in(stage: Stage, *, row: Row, at: datetime) -> None:
    visits.hand_in(stage.visits[row["visit"]], by=_inspectors(stage, row)[0], at=at)


def _approve(stage: Stage, *, row: Row, at: datetime) -> None:
    visits.approve(stage.visits[row["visit"]], words=row["words"], by=stage.first(Role.REVIEWER), at=at)


def _issue(stage: Stage, *, row: Row, at: datetime) -> None:
    stage.issues[row["visit"]] = authorise(stage.visits[row["visit"]], by=stage.first(Role.SIGNATORY), at=at)


def _attach(stage: Stage, *, row: Row, at: datetime) -> None:
    attach_file(stage.issues[row["visit"]], at=at)
