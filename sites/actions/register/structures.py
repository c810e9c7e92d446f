"""Structures, their systems, and the parts of those."""

from datetime import date, datetime
from typing import Any

from django.db import transaction

from sites import log
from sites.actions.register.checks import (
    PART_FACTS,
    STRUCTURE_FACTS,
    Reckoning,
    change,
    facts_of,
    firm_of,
    keep,
    nothing,
    require_begun,
    require_later,
    told,
)
from sites.models import Part, PartDetail, Person, Site, Structure, StructureDetail, System

WITH_FIRM = "structure__site__client__firm"


@transaction.atomic
def create_structure(
    site: Site,
    *,
    name: str,
    since: date,
    by: Person,
    at: datetime,
    before_log: Reckoning = nothing,
    **facts: Any,
) -> Structure:
    """A structure and its first detail.

    facts: columns of ``StructureFacts``; since: the first day they hold
    """
    structure = keep(Structure(site=site, name=name, recorded_at=at, **facts))
    _structure_detail(structure, since, at)
    before_log([structure.pk])
    is_now = {"name": name, "since": since, **facts_of(structure, STRUCTURE_FACTS)}
    log.record(site.client.firm, "structure created", structure, by=by, at=at, facts=told(is_now))
    return structure


@transaction.atomic
def describe_structure(
    structure: Structure,
    *,
    since: date,
    by: Person,
    at: datetime,
    before_log: Reckoning = nothing,
    **changed: Any,
) -> Structure:
    """What a structure is called and like from a day on; what is not named stays. Raises: RegisterRefused"""
    structure = (
        Structure.objects.select_for_update(of=("self",), no_key=True)
        .select_related("site__client__firm")
        .get(pk=structure.pk)
    )
    require_begun(since, structure.site, at)
    require_later(structure, since, structure.details.values_list("since", flat=True))
    facts = change(structure, ("name", *STRUCTURE_FACTS), changed)
    _structure_detail(structure, since, at)
    before_log([structure.pk])
    log.record(
        firm_of(structure), "structure described", structure, by=by, at=at,
        facts={"since": since.isoformat(), **facts},
    )  # fmt: skip
    return structure


@transaction.atomic
def create_system(structure: Structure, *, kind: str, name: str, by: Person, at: datetime) -> System:
    system = keep(System(structure=structure, kind=kind, name=name, recorded_at=at))
    facts = {"name": name, "kind": str(kind), "structure": str(structure.identity)}
    log.record(firm_of(structure), "system created", system, by=by, at=at, facts=facts)
    return system


@transaction.atomic
def change_system(system: System, *, since: date, by: Person, at: datetime, **changed: Any) -> System:
    """What a system is called, and of what kind it is, from a day on. Raises: RegisterRefused"""
    system = (
        System.objects.select_for_update(of=("self",), no_key=True)
        .select_related(WITH_FIRM)
        .get(pk=system.pk)
    )
    require_begun(since, system.structure.site, at)
    facts = change(system, ("name", "kind"), changed)
    log.record(
        firm_of(system.structure), "system described", system, by=by, at=at,
        facts={"since": since.isoformat(), **facts},
    )  # fmt: skip
    return system


@transaction.atomic
def create_part(
    system: System,
    *,
    kind: str,
    name: str,
    since: date,
    by: Person,
    at: datetime,
    before_log: Reckoning = nothing,
    **facts: Any,
) -> Part:
    """A part and its first detail. facts: columns of ``PartFacts``; since: the first day they hold."""
    part = keep(
        Part(structure=system.structure, system=system, kind=kind, name=name, recorded_at=at, **facts)
    )
    _part_detail(part, since, at)
    before_log([system.structure_id])
    is_now = {"name": name, "kind": kind, "since": since, **facts_of(part, PART_FACTS)}
    log.record(firm_of(system.structure), "part created", part, by=by, at=at, facts=told(is_now))
    return part


@transaction.atomic
def describe_part(part: Part, *, since: date, by: Person, at: datetime, **changed: Any) -> Part:
    """What a part is called and like from a day on; what is not named stays. Raises: RegisterRefused"""
    part = Part.objects.select_for_update(of=("self",), no_key=True).select_related(WITH_FIRM).get(pk=part.pk)
    require_begun(since, part.structure.site, at)
    require_later(part, since, part.details.values_list("since", flat=True))
    facts = change(part, ("name", *PART_FACTS), changed)
    _part_detail(part, since, at)
    log.record(
        firm_of(part.structure), "part described", part, by=by, at=at,
        facts={"since": since.isoformat(), **facts},
    )  # fmt: skip
    return part


def _structure_detail(structure: Structure, since: date, at: datetime) -> None:
    facts = facts_of(structure, STRUCTURE_FACTS)
    StructureDetail.objects.create(structure=structure, since=since, recorded_at=at, **facts)


def _part_detail(part: Part, since: date, at: datetime) -> None:
    PartDetail.objects.create(part=part, since=since, recorded_at=at, **facts_of(part, PART_FACTS))
