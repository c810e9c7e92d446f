"""A small record told through the product's own acts: one structure, three points, four people, one visit."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from inspections import looking as parts_of
from inspections.actions import looking, readings, visits
from inspections.actions.entries import NewNoReading, NewReading
from inspections.models import InstrumentRange, Look, NotSeen, Reason, Visit
from sites.models import Firm, Person, Quantity, Role, Structure, SystemKind, TestPoint, VisitKind
from tests import factories as f

ON_SITE = datetime(2027, 5, 3, 8, 0, tzinfo=UTC)
ON_SITE_DAY = ON_SITE.date()


@dataclass
class Story:
    """Everybody and everything the acts need."""

    firm: Firm
    planner: Person
    inspector: Person
    reviewer: Person
    signatory: Person
    structure: Structure
    points: list[TestPoint]
    range: InstrumentRange


def begin(points: int = 3) -> Story:
    """A copper down-conductor's points with a 20 mΩ guarded limit, and a complete inspection every 12 months."""
    firm = f.FirmFactory()
    people = {}
    for role in (Role.PLANNER, Role.INSPECTOR, Role.REVIEWER, Role.SIGNATORY):
        people[role] = f.MembershipFactory(firm=firm, role=role).person
        for kind in (VisitKind.COMPLETE, VisitKind.VISUAL, VisitKind.ELECTRICAL):
            f.AuthorisationFactory(
                person=people[role], firm=firm, system_kind=SystemKind.LIGHTNING, visit_kind=kind
            )
    structure = f.StructureFactory(site__client__firm=firm, name="Wieża Łódź")
    part = f.PartFactory(system__structure=structure)
    made = [
        f.TestPointFactory(structure=structure, part=part, number=str(n), quantity=Quantity.CONTINUITY)
        for n in range(1, points + 1)
    ]
    f.AdoptionFactory(limit=f.LimitRuleFactory(firm=firm))
    f.AdoptionFactory(interval=f.IntervalRuleFactory(firm=firm))
    meter = f.InstrumentFactory(firm=firm, serial="µ-7")
    f.CalibrationFactory(instrument=meter)
    return Story(
        firm,
        people[Role.PLANNER],
        people[Role.INSPECTOR],
        people[Role.REVIEWER],
        people[Role.SIGNATORY],
        structure,
        made,
        f.InstrumentRangeFactory(instrument=meter),
    )


def entry(story: Story, point: TestPoint, text: str, at: datetime, **more: object) -> NewReading:
    """A four-wire reading in mΩ at 20 °C with 10 A."""
    told = {
        "unit": "mΩ",
        "method": "four-wire",
        "current_a": Decimal(10),
        "temperature_c": Decimal(20),
        "temperature_source": "contact",
        **more,
    }
    return NewReading(point=point, range=story.range, text=text, at=at, **told)


def plan(story: Story, day: date = ON_SITE_DAY, kind: str = VisitKind.COMPLETE) -> Visit:
    return visits.plan(
        story.structure,
        kind=kind,
        purpose="periodic",
        planned_on=day,
        inspectors=[story.inspector],
        by=story.planner,
        at=ON_SITE - timedelta(days=30),
    )


def on_site(story: Story, begun: datetime = ON_SITE) -> Visit:
    visit = plan(story, begun.date())
    visit = visits.start(visit, arrived_at=begun, by=story.inspector, at=begun)
    return visits.note_conditions(visit, visits.Conditions(weather="dry"), by=story.inspector, at=begun)


def see_parts(visit: Visit, by: Person, at: datetime, left: tuple[str, ...] = ()) -> None:
    """Every part that is not answered yet was seen, but for those left, by name: they were not accessible."""
    day = (visit.on_site_until or at).astimezone(ZoneInfo(visit.structure.site.time_zone)).date()
    unanswered = parts_of.parts_unanswered(visit, day).order_by("pk")
    looks = [
        looking.NewLook(part, Look.NOT_SEEN, at, NotSeen.NOT_ACCESSIBLE, "no scaffold")
        if part.name in left
        else looking.NewLook(part, Look.SEEN, at)
        for part in unanswered
    ]
    if looks:
        looking.record(visit, looks, by=by, at=at)


def field_complete(
    story: Story, texts: tuple[str, ...] = ("5.00", "21.00"), begun: datetime = ON_SITE
) -> Visit:
    """The first points read with these displays, the others not accessible."""
    visit = on_site(story, begun)
    at = begun + timedelta(hours=1)
    read = [entry(story, point, text, at) for point, text in zip(story.points, texts, strict=False)]
    rest = [
        NewNoReading(point, Reason.NOT_ACCESSIBLE, at, "no scaffold") for point in story.points[len(texts) :]
    ]
    readings.record(visit, read, rest, by=story.inspector, at=at)
    see_parts(visit, story.inspector, at)
    left = begun + timedelta(hours=2)
    return visits.complete_field_work(visit, left_at=left, by=story.inspector, at=left)


def approved(story: Story, texts: tuple[str, ...] = ("5.00", "21.00"), begun: datetime = ON_SITE) -> Visit:
    visit = field_complete(story, texts, begun)
    visit = visits.hand_in(visit, by=story.inspector, at=begun + timedelta(hours=3))
    return visits.approve(visit, by=story.reviewer, at=begun + timedelta(hours=4))
