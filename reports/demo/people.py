"""The firm, the people with their roles, scopes and authorisations, and the clients."""

from collections.abc import Iterator
from datetime import date, datetime
from functools import partial

from inspections.actions.findings import adopt_urgencies
from reports.demo import scenario
from reports.demo.scenario import Row
from reports.demo.stage import Act, Stage
from sites.actions import people as people_actions
from sites.actions import register
from sites.models import Client, Person, Role, SystemKind, VisitKind

SCHEME = "Urgencies of Gorsewick"
INSPECTED = (SystemKind.LIGHTNING, SystemKind.EARTHING, SystemKind.BONDING)


def acts() -> Iterator[Act]:
    """The firm first, then people and clients as they come."""
    for row in scenario.rows("firm.csv"):
        at = scenario.instant(row["recorded"])
        yield Act(at, partial(_found, row=row, at=at))
    for row in scenario.rows("people.csv"):
        at = scenario.instant(row["recorded"])
        yield Act(at, partial(_engage, row=row, at=at))
    for row in scenario.rows("clients.csv"):
        at = scenario.instant(row["recorded"])
        yield Act(at, partial(_win, row=row, at=at))


def _found(stage: Stage, *, row: Row, at: datetime) -> None:
    stage.firm = register.create_firm(
        name=row["name"], address=row["address"], accreditation=row["accreditation"], by=None, at=at
    )


def _engage(stage: Stage, *, row: Row, at: datetime) -> None:
    """Somebody begins: the first of them enters themselves, the planner enters everybody later."""
    planners = stage.cast.get(Role.PLANNER)
    by = planners[0] if planners else None
    person = people_actions.create_person(
        stage.contractor,
        name=row["name"],
        email=row["email"],
        password=stage.passphrases.get(row["email"]),
        by=by,
        at=at,
    )
    stage.people[row["name"]] = person
    stage.cast.setdefault(row["role"], []).append(person)
    since = date.fromisoformat(row["since"])
    until = scenario.day(row["until"])
    membership = people_actions.create_membership(
        person, firm=stage.contractor, role=row["role"], since=since, until=until, by=by, at=at
    )
    for name in scenario.several(row["clients"]):
        client = Client.objects.get(firm=stage.contractor, name=name)
        people_actions.create_scope(
            membership, client=client, since=since, until=until, by=stage.first(Role.PLANNER), at=at
        )
    if row["authorised"] == "yes":
        _authorise(stage, person, since, by or person, at)
    if row["role"] == Role.PLANNER:
        _adopt_urgencies(stage, person, at)


def _authorise(stage: Stage, person: Person, since: date, by: Person, at: datetime) -> None:
    for system_kind in INSPECTED:
        for visit_kind in VisitKind:
            people_actions.create_authorisation(
                person,
                firm=stage.contractor,
                system_kind=system_kind,
                visit_kind=visit_kind,
                since=since,
                by=by,
                at=at,
            )


def _adopt_urgencies(stage: Stage, by: Person, at: datetime) -> None:
    words = [(row["word"], row["meaning"]) for row in scenario.rows("urgencies.csv")]
    scheme = adopt_urgencies(
        stage.contractor, name=SCHEME, source="our own words", urgencies=words, by=by, at=at
    )
    stage.urgencies = {urgency.word: urgency for urgency in scheme.urgencies.all()}


def _win(stage: Stage, *, row: Row, at: datetime) -> None:
    register.create_client(
        stage.contractor, name=row["name"], paper=row["paper"], by=stage.first(Role.PLANNER), at=at
    )
