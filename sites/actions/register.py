"""Adding to the register, and saying later that something changed. Nothing here removes a row."""

from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar
from zoneinfo import ZoneInfo, available_timezones

from django.core.exceptions import ValidationError
from django.db import models, transaction

from sites import log
from sites.models import (
    Client,
    Firm,
    Paper,
    Part,
    PartDetail,
    PartFacts,
    Person,
    PointNumber,
    Site,
    Structure,
    StructureDetail,
    StructureFacts,
    System,
    TestPoint,
)
from sites.ordering import natural_key

STRUCTURE_FACTS = tuple(field.name for field in StructureFacts._meta.get_fields())
PART_FACTS = tuple(field.name for field in PartFacts._meta.get_fields())
_Row = TypeVar("_Row", bound=models.Model)


class RegisterRefused(Exception):
    """Something the register cannot take, with the sentence for the person who entered it."""


@transaction.atomic
def create_firm(
    *, name: str, address: str, by: Person | None, at: datetime, accreditation: str | None = None
) -> Firm:
    """A firm with the head of its own log. ``by`` is None while nobody belongs to it yet."""
    firm = Firm(name=name, address=address, recorded_at=at)
    if accreditation is not None:
        firm.accreditation = accreditation
    _keep(firm)
    log.begin(firm)
    log.record(firm, "firm created", firm, by=by, at=at, facts={"name": name, "address": address})
    return firm


@transaction.atomic
def create_client(firm: Firm, *, name: str, by: Person, at: datetime, paper: str = Paper.A4) -> Client:
    client = _keep(Client(firm=firm, name=name, paper=paper, recorded_at=at))
    log.record(firm, "client created", client, by=by, at=at, facts={"name": name, "paper": str(paper)})
    return client


@transaction.atomic
def create_site(
    client: Client,
    *,
    name: str,
    time_zone: str,
    by: Person,
    at: datetime,
    address: str = "",
    latitude: Decimal | None = None,
    longitude: Decimal | None = None,
) -> Site:
    """A site. latitude, longitude: degrees, north and east positive. Raises: RegisterRefused"""
    require_time_zone(time_zone)
    require_position(latitude, longitude)
    facts = {
        "name": name,
        "address": address,
        "time_zone": time_zone,
        "latitude": latitude,
        "longitude": longitude,
    }
    site = _keep(Site(client=client, recorded_at=at, **facts))
    log.record(client.firm, "site created", site, by=by, at=at, facts=_told(facts))
    return site


@transaction.atomic
def create_structure(
    site: Site, *, name: str, since: date, by: Person, at: datetime, **facts: Any
) -> Structure:
    """A structure and its first detail.

    facts: columns of ``StructureFacts``; since: the first day they hold
    """
    structure = _keep(Structure(site=site, name=name, recorded_at=at, **facts))
    _structure_detail(structure, since, at)
    told = {"name": name, "since": since, **_facts_of(structure, STRUCTURE_FACTS)}
    log.record(site.client.firm, "structure created", structure, by=by, at=at, facts=_told(told))
    return structure


@transaction.atomic
def describe_structure(
    structure: Structure, *, since: date, by: Person, at: datetime, **changed: Any
) -> Structure:
    """What a structure is like from a day on; what is not named stays. Raises: RegisterRefused"""
    structure = Structure.objects.select_for_update(of=("self",)).get(pk=structure.pk)
    was = _change(structure, STRUCTURE_FACTS, changed, since)
    _structure_detail(structure, since, at)
    facts = {"since": since.isoformat(), "was": was, "is": _told(changed)}
    log.record(structure.site.client.firm, "structure described", structure, by=by, at=at, facts=facts)
    return structure


@transaction.atomic
def create_system(structure: Structure, *, kind: str, name: str, by: Person, at: datetime) -> System:
    system = _keep(System(structure=structure, kind=kind, name=name, recorded_at=at))
    facts = {"name": name, "kind": str(kind), "structure": str(structure.identity)}
    log.record(_firm_of(structure), "system created", system, by=by, at=at, facts=facts)
    return system


@transaction.atomic
def create_part(
    system: System, *, kind: str, name: str, since: date, by: Person, at: datetime, **facts: Any
) -> Part:
    """A part and its first detail. facts: columns of ``PartFacts``; since: the first day they hold."""
    part = _keep(
        Part(structure=system.structure, system=system, kind=kind, name=name, recorded_at=at, **facts)
    )
    _part_detail(part, since, at)
    told = {"name": name, "kind": kind, "since": since, **_facts_of(part, PART_FACTS)}
    log.record(_firm_of(system.structure), "part created", part, by=by, at=at, facts=_told(told))
    return part


@transaction.atomic
def describe_part(part: Part, *, since: date, by: Person, at: datetime, **changed: Any) -> Part:
    """What a part is like from a day on; what is not named stays. Raises: RegisterRefused"""
    part = Part.objects.select_for_update(of=("self",)).get(pk=part.pk)
    was = _change(part, PART_FACTS, changed, since)
    _part_detail(part, since, at)
    facts = {"since": since.isoformat(), "was": was, "is": _told(changed)}
    log.record(_firm_of(part.structure), "part described", part, by=by, at=at, facts=facts)
    return part


@transaction.atomic
def create_point(
    part: Part, *, quantity: str, place: str, number: str, since: date, by: Person, at: datetime
) -> TestPoint:
    """A test point with its first number. since: the first day it is to be read. Raises: RegisterRefused"""
    order = _order_of(number)
    _refuse_taken(part.structure, number)
    point = _keep(
        TestPoint(
            structure=part.structure,
            part=part,
            quantity=quantity,
            place=place,
            number=number,
            number_order=order,
            since=since,
            recorded_at=at,
        )
    )
    PointNumber.objects.create(point=point, number=number, number_order=order, since=since, recorded_at=at)
    facts = {"number": number, "quantity": quantity, "place": place, "since": since, "part": part.identity}
    log.record(_firm_of(part.structure), "point created", point, by=by, at=at, facts=_told(facts))
    return point


@transaction.atomic
def renumber_point(point: TestPoint, *, number: str, since: date, by: Person, at: datetime) -> TestPoint:
    """Give a point another number from a day on; the old one stays findable.

    Raises: RegisterRefused where the number is taken, or the day is yet to come or before an earlier renumbering
    """
    point = (
        TestPoint.objects.select_for_update(of=("self",)).select_related("structure__site").get(pk=point.pk)
    )
    order = _order_of(number)
    _refuse_taken(point.structure, number)
    today = at.astimezone(ZoneInfo(point.structure.site.time_zone)).date()
    latest = point.numbers.latest("since")
    if since > today:
        raise RegisterRefused(
            "A number is changed on the day or afterwards. Enter this when the label is changed."
        )
    if since < latest.since:
        raise RegisterRefused(
            f"Point {point.number} carries its number since {shown(latest.since)}. Give that day or a later one."
        )
    PointNumber.objects.create(point=point, number=number, number_order=order, since=since, recorded_at=at)
    was, point.number, point.number_order = point.number, number, order
    point.save(update_fields=["number", "number_order"])
    facts = {"was": was, "is": number, "since": since.isoformat()}
    log.record(_firm_of(point.structure), "point renumbered", point, by=by, at=at, facts=facts)
    return point


@transaction.atomic
def retire_point(point: TestPoint, *, on: date, reason: str, by: Person, at: datetime) -> TestPoint:
    """From this day on the point is no longer read. Its readings stay. Raises: RegisterRefused"""
    point = TestPoint.objects.select_for_update(of=("self",)).get(pk=point.pk)
    if not reason.strip():
        raise RegisterRefused("Say why the point is no longer read.")
    if point.retired_on is not None:
        raise RegisterRefused(f"Point {point.number} was retired on {shown(point.retired_on)} already.")
    if on < point.since:
        raise RegisterRefused(
            f"Point {point.number} stands since {shown(point.since)}. Give that day or a later one."
        )
    point.retired_on = on
    point.save(update_fields=["retired_on"])
    facts = {"number": point.number, "on": on.isoformat(), "reason": reason.strip()}
    log.record(_firm_of(point.structure), "point retired", point, by=by, at=at, facts=facts)
    return point


@cache
def time_zones() -> frozenset[str]:
    """Names of the zones this machine knows."""
    return frozenset(available_timezones())


def require_time_zone(name: str) -> None:
    """Raises: RegisterRefused for a name that is no zone."""
    if name not in time_zones():
        raise RegisterRefused(
            f"“{name}” is not a known time zone. Write a name such as Europe/London or UTC."
        )


def require_position(latitude: Decimal | None, longitude: Decimal | None) -> None:
    """Raises: RegisterRefused outside the globe, or where one of the two is missing."""
    if (latitude is None) != (longitude is None):
        raise RegisterRefused("A position needs latitude and longitude.")
    if latitude is not None and abs(latitude) > 90:
        raise RegisterRefused(f"The latitude {latitude} is out of range. It lies between -90 and 90 degrees.")
    if longitude is not None and abs(longitude) > 180:
        raise RegisterRefused(
            f"The longitude {longitude} is out of range. It lies between -180 and 180 degrees."
        )


def shown(day: date) -> str:
    """A day as people read it: 12 Mar 2027."""
    return f"{day.day} {day:%b %Y}"


def _keep(row: _Row) -> _Row:
    """Save a new row after the checks that belong to its model. Raises: RegisterRefused"""
    _check(row)
    row.save(force_insert=True)
    return row


def _check(row: models.Model) -> None:
    try:
        row.full_clean()
    except ValidationError as fault:
        raise RegisterRefused(" ".join(fault.messages)) from fault


def _change(
    row: Structure | Part, allowed: tuple[str, ...], changed: dict[str, Any], since: date
) -> dict[str, Any]:
    """Set the named facts on the row and save it. Returns what they were."""
    if unknown := sorted(set(changed) - set(allowed)):
        raise TypeError(f"Not facts of this row: {', '.join(unknown)}")
    latest = row.details.latest("since")
    if since < latest.since:
        raise RegisterRefused(
            f"{row} was described as of {shown(latest.since)} already. Give that day or a later one."
        )
    was = _told({name: getattr(row, name) for name in changed})
    for name, value in changed.items():
        setattr(row, name, value)
    _check(row)
    row.save(update_fields=list(changed))
    return was


def _structure_detail(structure: Structure, since: date, at: datetime) -> None:
    facts = _facts_of(structure, STRUCTURE_FACTS)
    StructureDetail.objects.create(structure=structure, since=since, recorded_at=at, **facts)


def _part_detail(part: Part, since: date, at: datetime) -> None:
    PartDetail.objects.create(part=part, since=since, recorded_at=at, **_facts_of(part, PART_FACTS))


def _facts_of(row: models.Model, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: getattr(row, name) for name in names}


def _order_of(number: str) -> str:
    try:
        return natural_key(number)
    except ValueError as fault:
        raise RegisterRefused(str(fault)) from fault


def _refuse_taken(structure: Structure, number: str) -> None:
    if TestPoint.objects.filter(structure=structure, number=number, retired_on__isnull=True).exists():
        raise RegisterRefused(
            f"Number {number} is taken at {structure}. Give each point a number of its own."
        )


def _firm_of(structure: Structure) -> Firm:
    return structure.site.client.firm


def _told(facts: dict[str, Any]) -> dict[str, Any]:
    """Facts as the log takes them: text for everything but yes, no and nothing."""
    return {
        name: value if value is None or isinstance(value, bool) else str(value)
        for name, value in facts.items()
    }
