"""A small fictitious record for the pages of what is due and of the places, as it stands on 17 May 2027."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from inspections.models import VisitState
from sites.models import Client, Firm, Person, Role, Site, Structure
from tests import factories as make

NOON = datetime(2027, 5, 17, 12, 0, tzinfo=UTC)
TODAY = date(2027, 5, 17)


def member(firm: Firm, role: str = Role.PLANNER, **more) -> Person:
    """A person in that role; ``clients=`` gives a scope for each, ``person=`` the person's own facts."""
    clients = more.pop("clients", ())
    person = make.PersonFactory(**more.pop("person", {}))
    membership = make.MembershipFactory(person=person, firm=firm, role=role, **more)
    for client in clients:
        make.ScopeFactory(membership=membership, client=client)
    return person


def with_password(person: Person) -> Person:
    """The same person, who can sign in. Hashing takes its time, so only some tests ask for it."""
    person.set_password(make.PASSWORD)
    person.save()
    return person


def owe(structure: Structure, days: int, *, grace: int = 0, **more):
    """A due date so many days from 17 May 2027, with its rule adopted on 1 Jan 2020."""
    due = TODAY + timedelta(days=days)
    row = make.DueDateFactory(structure=structure, due=due, grace_until=due + timedelta(days=grace), **more)
    if row.rule_id:
        make.AdoptionFactory(interval=row.rule)
    return row


@dataclass
class Record:
    firm: Firm
    client: Client
    site: Site
    church: Structure
    store: Structure


def record() -> Record:
    """A parish with a church that has everything a structure page shows, and a store out of use."""
    firm = make.FirmFactory(name="Gorsewick Lightning & Earthing")
    client = make.ClientFactory(firm=firm, name="Parish of Three Becks")
    site = make.SiteFactory(client=client, name="Nether Beck", address="Church Lane, Nether Beck")
    church = make.StructureFactory(
        site=site, name="St Elfrida", use="parish church", height_m="24", roof_perimeter_m="118.5"
    )
    store = make.StructureFactory(site=site, name="Powder store", use="explosives store", explosion_risk=True)
    owe(church, -33, author="Fettlebridge Mutual", why="12 months after 14 Apr 2026.")
    owe(
        church,
        35,
        author="Gorsewick, our own advice",
        governs=False,
        demand="visual",
        why="14 months after 21 Apr.",
    )
    owe(church, 800, governs=False, points=5)
    owe(store, -14, governs=False, suspended=True, why="Out of use since 1 Feb 2027.")
    make.SuspensionFactory(structure=store)
    _points_and_visits(firm, church)
    make.EventFactory(structure=church, kind="strike", words="tower struck, seen by the verger")
    return Record(firm, client, site, church, store)


def _points_and_visits(firm: Firm, church: Structure) -> None:
    system = make.SystemFactory(structure=church, name="Outer system")
    numbers = ["10", "2", "12A", "1", "11"]
    part = make.PartFactory(system=system)
    points = {n: make.TestPointFactory(structure=church, part=part, number=n) for n in numbers}
    person = make.PersonFactory(name="R. Underhazel")
    visit = make.VisitFactory(
        structure=church,
        state=VisitState.ISSUED,
        on_site_until=datetime(2027, 5, 3, 15, 0, tzinfo=UTC),
    )
    kit = make.InstrumentFactory(firm=firm)
    scale = make.InstrumentRangeFactory(instrument=kit)
    given = {"visit": visit, "instrument": kit, "range": scale, "by": person}
    within = make.ReadingFactory(point=points["1"], **given)
    above = make.ReadingFactory(point=points["2"], text="31.2", value_ohm="0.0312", **given)
    unjudged = make.ReadingFactory(point=points["10"], text="OL", value_ohm=None, **given)
    make.VerdictFactory(reading=within)
    make.VerdictFactory(reading=above, outcome="above limit", corrected_ohm="0.0312")
    make.VerdictFactory(
        reading=unjudged,
        outcome="cannot be judged",
        reason="The display showed no number.",
        corrected_ohm=None,
    )
    make.NoReadingFactory(visit=visit, point=points["11"], by=person)
    make.DefectFactory(visit=visit, point=points["2"], by=person, words="clamp loose and corroded")
    make.VisitFactory(
        structure=church, state=VisitState.PLANNED, on_site_from=None, planned_on=date(2027, 6, 8)
    )
