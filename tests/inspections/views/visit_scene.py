"""A firm with one person in each role, and a structure whose visit can be carried through: fictitious throughout."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.hashers import make_password

from inspections.actions import entries, readings, visits
from inspections.models import Instrument, InstrumentRange, Urgency, Visit
from reports import actions as report_actions
from reports.models import Issue
from sites.models import Firm, Person, Quantity, Role, Site, Structure, SystemKind, TestPoint, VisitKind
from tests import factories as make
from tests.story import see_parts

NOW = datetime(2027, 5, 3, 14, 0, tzinfo=UTC)
NUMBERS = ("2", "10", "12A", "3", "1")
HOUR = timedelta(hours=1)
HEADER = (
    "point,reading,unit,range,method,current,temperature,temperature_source,instrument,time,no_reading,words"
)


@dataclass
class Scene:
    """at: the moment it is all set up for; people: by role"""

    at: datetime
    firm: Firm
    site: Site
    structure: Structure
    points: dict[str, TestPoint]
    people: dict[str, Person]
    range: InstrumentRange
    urgency: Urgency
    outsiders: dict[str, Person] = field(default_factory=dict)
    clients: dict[str, Any] = field(default_factory=dict)

    @property
    def instrument(self) -> Instrument:
        return self.range.instrument

    def local(self, at: datetime) -> str:
        """As the browser's own field sends it; the site keeps UTC's clock time plus its offset."""
        return at.astimezone(ZoneInfo(self.site.time_zone)).strftime("%Y-%m-%dT%H:%M")

    def planned(
        self, *, at: datetime | None = None, kind: str = VisitKind.COMPLETE, purpose: str = "periodic"
    ) -> Visit:
        at = at or self.at - 6 * HOUR
        return visits.plan(
            self.structure, kind=kind, purpose=purpose, planned_on=at.date(), inspectors=[self.people[Role.INSPECTOR]],
            by=self.people[Role.PLANNER], at=at,
        )  # fmt: skip

    def on_site(self, *, at: datetime | None = None, **more: Any) -> Visit:
        at = at or self.at - 5 * HOUR
        visit = self.planned(at=at - HOUR, **more)
        return visits.start(visit, arrived_at=at, by=self.people[Role.INSPECTOR], at=at)

    def entry(self, number: str, text: str, at: datetime, **more: Any) -> entries.NewReading:
        told: dict[str, Any] = {
            "unit": "mΩ", "method": "four-wire", "current_a": Decimal(10), "temperature_c": Decimal(20),
            "temperature_source": "contact", **more,
        }  # fmt: skip
        return entries.NewReading(point=self.points[number], range=self.range, text=text, at=at, **told)

    def read(self, visit: Visit, texts: dict[str, str], *, at: datetime | None = None, **more: Any) -> None:
        at = at or self.at - 4 * HOUR
        new = [self.entry(number, text, at, **more) for number, text in texts.items()]
        readings.record(visit, new, by=self.people[Role.INSPECTOR], at=at)

    def reason(
        self, visit: Visit, number: str, reason: Any, words: str = "", at: datetime | None = None
    ) -> None:
        at = at or self.at - 4 * HOUR
        entry = entries.NewNoReading(point=self.points[number], reason=reason, at=at, words=words)
        readings.record(visit, [], [entry], by=self.people[Role.INSPECTOR], at=at)

    def completed(self, visit: Visit, *, at: datetime | None = None) -> Visit:
        at = at or self.at - 3 * HOUR
        inspector = self.people[Role.INSPECTOR]
        told = visits.Conditions("dry", "6 mm", "damp", "17 °C")
        visits.note_conditions(visit, told, by=inspector, at=at)
        see_parts(visit, inspector, at)
        return visits.complete_field_work(visit, left_at=at, by=inspector, at=at)

    def reviewed(self, visit: Visit, *, at: datetime | None = None) -> Visit:
        at = at or self.at - 2 * HOUR
        visits.hand_in(visit, by=self.people[Role.INSPECTOR], at=at)
        return visits.approve(visit, by=self.people[Role.REVIEWER], at=at)

    def approved(self, *, at: datetime | None = None, texts: dict[str, str] | None = None) -> Visit:
        """A visit read at every point and approved."""
        at = at or self.at - 5 * HOUR
        visit = self.on_site(at=at)
        self.read(visit, texts or dict.fromkeys(NUMBERS, "5.00"), at=at + HOUR)
        self.completed(visit, at=at + 2 * HOUR)
        return self.reviewed(visit, at=at + 3 * HOUR)

    def issued(self, *, at: datetime | None = None, file: bool = True, **more: Any) -> Issue:
        visit = self.approved(at=at, **more)
        moment = (at or self.at - 5 * HOUR) + 4 * HOUR
        issue = report_actions.authorise(visit, by=self.people[Role.SIGNATORY], at=moment)
        if file:
            report_actions.attach_file(issue, at=moment)
        return issue

    def sheet(self, *rows: str) -> bytes:
        return "\n".join([HEADER, *rows, ""]).encode()

    def row(self, number: str, text: str, at: datetime | None = None) -> str:
        at = at or self.at - 4 * HOUR
        when = self.local(at).replace("T", " ")
        return f"{number},{text},mΩ,25 mΩ,four-wire,10 A,20 °C,contact,{self.instrument.serial},{when},,"


def scene(at: datetime = NOW, *, name: str = "Gorsewick Lightning & Earthing", **structure: Any) -> Scene:
    """A whole cast and one structure with five points, an adopted limit, an interval and an instrument."""
    firm = make.FirmFactory(name=name)
    site = make.SiteFactory(
        client=make.ClientFactory(firm=firm, name=f"{name}: client"), name="Larkmoor General"
    )
    place = make.StructureFactory(site=site, **{"name": "Ward Tower East", **structure})
    system = make.SystemFactory(structure=place, name="Lightning protection")
    points = {}
    for number in NUMBERS:
        part = make.PartFactory(system=system, structure=place)
        points[number] = make.TestPointFactory(
            structure=place, part=part, number=number, quantity=Quantity.CONTINUITY, place=f"corner {number}"
        )
    _rules(firm)
    meter = make.InstrumentFactory(firm=firm, serial="4711")
    day = at.date()
    make.CalibrationFactory(
        instrument=meter, calibrated_on=day - timedelta(days=2000), valid_until=day + timedelta(days=200)
    )
    scheme = make.UrgencySchemeFactory(firm=firm, name="Urgencies in words")
    urgency = make.UrgencyFactory(scheme=scheme, rank=1, word="at once", meaning="before anybody leaves")
    make.UrgencyFactory(scheme=scheme, rank=2)
    return Scene(
        at=at, firm=firm, site=site, structure=place, points=points, people=cast(firm, site),
        range=make.InstrumentRangeFactory(instrument=meter), urgency=urgency,
    )  # fmt: skip


def _rules(firm: Firm) -> None:
    limit = make.LimitRuleFactory(firm=firm)
    make.AdoptionFactory(limit=limit)
    interval = make.IntervalRuleFactory(firm=firm)
    make.AdoptionFactory(interval=interval)


@cache
def hashed() -> str:
    """The one password, hashed once: that is slow on purpose."""
    return make_password(make.PASSWORD)


def cast(firm: Firm, site: Site) -> dict[str, Person]:
    """One person a role; those whose roles need a scope have the site's client."""
    people = {}
    for role in Role.values:
        person = make.PersonFactory(name=f"{role.title()} Example", password=hashed())
        membership = make.MembershipFactory(person=person, firm=firm, role=role)
        if role in (Role.FACILITY, Role.AUDITOR, Role.INSPECTOR):
            make.ScopeFactory(membership=membership, client=site.client)
        for kind in (VisitKind.COMPLETE, VisitKind.VISUAL):
            if role in (Role.INSPECTOR, Role.SIGNATORY):
                make.AuthorisationFactory(
                    person=person, firm=firm, system_kind=SystemKind.LIGHTNING, visit_kind=kind
                )
        people[role] = person
    return people
