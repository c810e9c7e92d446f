"""The record that the walls are tried on: two firms, two clients, a visit in each state, reports, findings."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, timedelta
from http.cookies import SimpleCookie
from typing import Any

import time_machine
from django.conf import settings
from django.db import models, transaction
from django.test import Client
from django.urls import NoReverseMatch, reverse

from inspections.actions import defects as defect_acts
from inspections.actions import due, findings, planning, readings
from inspections.actions import visits as visit_acts
from inspections.actions.entries import NewReading
from inspections.imports.readings import Readings
from inspections.models import Reading, Reason, Visit, VisitState
from reports import actions as report_actions
from reports.models import Issue
from sites import imports
from sites.models import Document, ImportedFile, Person, Role, Structure
from tests import factories as make
from tests.access.cast import ANONYMOUS, ENDED, OTHER_FACILITY, OTHER_FIRM, STRANGER, UNASSIGNED
from tests.access.line import Line
from tests.inspections.views.visit_scene import HOUR, NOW, NUMBERS, Scene, hashed, scene

TODAY = NOW.date()
A_YEAR_AGO = NOW - timedelta(days=400)


@dataclass
class Stage:
    """Everybody and everything; people by who they are in the cast.

    visits: one in each state; issue: a report with its file; draft: one whose file is still to be made
    """

    here: Scene
    elsewhere: Scene
    people: dict[str, Person]
    visits: dict[str, Visit] = field(default_factory=dict)
    issue: Issue = None  # type: ignore[assignment]
    fileless: Issue = None  # type: ignore[assignment]
    file: ImportedFile = None  # type: ignore[assignment]
    store: Structure = None  # type: ignore[assignment]
    document: Document = None  # type: ignore[assignment]
    client: Client = field(default_factory=Client)
    keys: dict[str, str] = field(default_factory=dict)

    # What addresses name ---------------------------------------------------------------------------------------

    @property
    def firm(self) -> Any:
        return self.here.firm

    @property
    def owner(self) -> Any:
        """The client whose site it is."""
        return self.here.site.client

    @property
    def site(self) -> Any:
        return self.here.site

    @property
    def structure(self) -> Structure:
        return self.here.structure

    @property
    def point(self) -> Any:
        return self.here.points["2"]

    @property
    def instrument(self) -> Any:
        return self.here.instrument

    @property
    def visit(self) -> Visit:
        """On site, with something read and something not."""
        return self.visits[VisitState.ON_SITE]

    @property
    def reading(self) -> Reading:
        return self.issue.visit.readings.order_by("pk").first()

    @property
    def look(self) -> Any:
        """What was said of a part, at a visit that takes corrections."""
        return self.visits[VisitState.FIELD_COMPLETE].looks.first()

    @property
    def defect(self) -> Any:
        return self.issue.visit.defects.first()

    @property
    def amended(self) -> Issue:
        """A report whose visit is open for an amendment."""
        return self.visits[VisitState.AMENDING].issues.get()

    @property
    def event(self) -> Any:
        return self.store.events.first()

    # Asking ----------------------------------------------------------------------------------------------------

    def sign_everybody_in(self) -> None:
        for who in self.people:
            self.sign_in(who)

    def sign_in(self, who: str) -> None:
        client = Client()
        client.force_login(self.people[who])
        self.keys[who] = client.cookies[settings.SESSION_COOKIE_NAME].value

    def address(self, line: Line) -> str:
        """The line's address, with what stands in it."""
        given = () if line.of is None else line.of(self)
        parts = given if isinstance(given, tuple) else (given,)
        args = [part.pk if isinstance(part, models.Model) else part for part in parts]
        try:
            found = reverse(line.name, args=args)
        except NoReverseMatch:
            if args or "<" in line.name or "(" in line.name:
                raise
            found = f"/{line.name}"
        return f"{found}?{line.query}" if line.query else found

    def others(self, name: str) -> list[str]:
        """Addresses of what else of a kind there is, and looks otherwise or shows other forms."""
        numbers = ("3", "12A")
        found: dict[str, list[Any]] = {
            "visit": [(visit,) for visit in self.visits.values()],
            "visit-point": [(self.visit, self.here.points[number]) for number in numbers],
            "report": [(self.amended,), (self.fileless,)],
            "reading": [(self.visit.readings.first(),), (self.amended.visit.readings.first(),)],
            "reading-correct": [(self.amended.visit.readings.first(),)],
        }
        others = [reverse(name, args=[row.pk for row in rows]) for rows in found.get(name, ())]
        if name == "part-new":
            others.append(f"{reverse(name, args=[self.structure.systems.first().pk])}?kind=down-conductor")
        return others

    def body(self, line: Line) -> Mapping[str, Any]:
        return line.body(self) if callable(line.body) else line.body or {}

    def ask(
        self, who: str, method: str, address: str, body: Mapping[str, Any] | None = None, **more: Any
    ) -> Any:
        """One request by somebody of the cast; what it changed is undone."""
        with undone():
            return self.keep(who, method, address, body, **more)

    def keep(self, who: str, method: str, address: str, body: Any = None, **more: Any) -> Any:
        """One request by somebody of the cast; what it changed stays until the end of the test."""
        self.client.cookies = SimpleCookie()
        if who != ANONYMOUS:
            self.client.cookies[settings.SESSION_COOKIE_NAME] = self.keys[who]
        return getattr(self.client, method.lower())(address, body, **more)


@contextmanager
def undone() -> Iterator[None]:
    """Whatever is written inside is taken back at the end."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@contextmanager
def set_up() -> Iterator[Stage]:
    """The stage at its moment, inside a transaction that leaves nothing behind."""
    with time_machine.travel(NOW, tick=False), undone():
        yield build()


def build() -> Stage:
    here, elsewhere = scene(), scene(name="Another Invented Firm")
    stage = filled(Stage(here, elsewhere, {**here.people, **_outsiders(here, elsewhere)}))
    due.refresh([elsewhere.structure.pk], at=NOW)
    stage.sign_everybody_in()
    return stage


def filled(stage: Stage) -> Stage:
    """With everything that is asked for: visits, a store, files."""
    here = stage.here
    _last_year(stage)
    _visits_in_each_state(stage)
    _a_store_out_of_use(stage)
    make.CalibrationFileFactory(calibration=here.instrument.calibrations.order_by("pk").first())
    stage.document = make.RevisionFactory(document__structure=here.structure).document
    due.refresh([here.structure.pk, stage.store.pk], at=NOW)
    return stage


def _outsiders(here: Scene, elsewhere: Scene) -> dict[str, Person]:
    names = (OTHER_FACILITY, UNASSIGNED, ENDED, STRANGER)
    people = {
        name: make.PersonFactory(name=f"Outside Example {n}", password=hashed())
        for n, name in enumerate(names)
    }
    beside = make.SiteFactory(
        client=make.ClientFactory(firm=here.firm, name="The client next door"), name="Next door"
    )
    make.StructureFactory(site=beside, name="House of somebody else")
    member = make.MembershipFactory(person=people[OTHER_FACILITY], firm=here.firm, role=Role.FACILITY)
    make.ScopeFactory(membership=member, client=beside.client)
    make.MembershipFactory(person=people[UNASSIGNED], firm=here.firm, role=Role.INSPECTOR)
    ended = make.MembershipFactory(
        person=people[ENDED], firm=here.firm, role=Role.AUDITOR, until=TODAY - timedelta(days=1)
    )
    make.ScopeFactory(membership=ended, client=here.site.client)
    return {**people, OTHER_FIRM: elsewhere.people[Role.PLANNER]}


def _last_year(stage: Stage) -> None:
    """A whole visit from its plan to the issued report: an imported file, a correction, a defect."""
    here, inspector = stage.here, stage.here.people[Role.INSPECTOR]
    begun = A_YEAR_AGO
    visit = here.on_site(at=begun)
    rows = [
        here.row(number, text, begun + HOUR)
        for number, text in (("2", "5.10"), ("10", "23.00"), ("12A", "OL"))
    ]
    stage.file = imports.run(
        Readings(visit),
        firm=here.firm,
        name="roof.csv",
        content=here.sheet(*rows),
        by=inspector,
        at=begun + HOUR,
    )
    here.read(visit, {"3": "6.00"}, at=begun + HOUR)
    here.reason(visit, "1", Reason.NOT_ACCESSIBLE, "no scaffold", begun + HOUR)
    wrong = visit.readings.get(point=here.points["3"])
    right: NewReading = here.entry("3", "6.10", begun + HOUR)
    readings.correct(wrong, right, reason="misread", by=inspector, at=begun + HOUR)
    defect = findings.record_defect(
        visit, place="roof", words="clamp loose", urgency=here.urgency, found_at=begun + HOUR, by=inspector,
        at=begun + HOUR, point=here.points["10"],
    )  # fmt: skip
    defect_acts.tell(
        defect, to_whom="the caretaker", how="by word of mouth", told_at=begun + HOUR, by=inspector, at=begun + HOUR
    )  # fmt: skip
    here.completed(visit, at=begun + 2 * HOUR)
    here.reviewed(visit, at=begun + 3 * HOUR)
    signatory = here.people[Role.SIGNATORY]
    stage.issue = report_actions.authorise(visit, by=signatory, at=begun + 4 * HOUR)
    report_actions.attach_file(stage.issue, at=begun + 4 * HOUR)
    stage.fileless = here.issued(at=begun + timedelta(days=100), file=False)


def _visits_in_each_state(stage: Stage) -> None:
    here = stage.here
    # The one that stays planned comes last: beside it no other of its kind is planned for that day.
    for state in sorted(VisitState.values, key=lambda state: state == VisitState.PLANNED):
        stage.visits[state] = _carried_to(here, state)


def _carried_to(here: Scene, state: str) -> Visit:
    if state == VisitState.PLANNED:
        return here.planned()
    if state == VisitState.CANCELLED:
        return planning.cancel(here.planned(), reason="client", by=here.people[Role.PLANNER], at=here.at)
    visit = here.on_site()
    if state == VisitState.ON_SITE:
        here.read(visit, {"2": "5.20", "10": "23.50"})
        here.reason(visit, "1", Reason.NOT_ACCESSIBLE, "no scaffold")
        return visit
    here.read(visit, dict.fromkeys(NUMBERS, "5.00"))
    here.completed(visit)
    if state == VisitState.FIELD_COMPLETE:
        return visit
    if state == VisitState.IN_REVIEW:
        return visit_acts.hand_in(visit, by=here.people[Role.INSPECTOR], at=here.at - HOUR)
    visit = here.reviewed(visit)
    if state in (VisitState.ISSUED, VisitState.AMENDING):
        issue = report_actions.authorise(visit, by=here.people[Role.SIGNATORY], at=here.at)
        report_actions.attach_file(issue, at=here.at)
        if state == VisitState.AMENDING:
            report_actions.open_amendment(
                issue, reason="the wrong limit", by=here.people[Role.SIGNATORY], at=here.at
            )
    return visit


def _a_store_out_of_use(stage: Stage) -> None:
    here = stage.here
    stage.store = make.StructureFactory(
        site=here.site, name="Powder store", use="explosives store", explosion_risk=True
    )
    make.SystemFactory(structure=stage.store, name="Lightning protection")
    findings.report_event(
        stage.store, kind="strike", on=date(2027, 4, 20), inspect_within_days=7, reported_by="the caretaker",
        words="seen from the gate", by=here.people[Role.PLANNER], at=NOW,
    )  # fmt: skip
    findings.suspend(
        stage.store, since=date(2027, 4, 25), until=None, authority="the owner, in writing",
        by=here.people[Role.PLANNER], at=NOW,
    )  # fmt: skip
