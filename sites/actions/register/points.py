"""Test points: set up, described, renumbered, retired."""

from datetime import date, datetime

from django.db import transaction

from sites import log
from sites.actions.register.checks import (
    Reckoning,
    RegisterRefused,
    change,
    firm_of,
    keep,
    nothing,
    order_of,
    refuse_taken,
    require_begun,
    require_later,
    shown,
    told,
)
from sites.models import Part, Person, PointDetail, PointNumber, TestPoint


@transaction.atomic
def create_point(
    part: Part, *, quantity: str, place: str, number: str, since: date, by: Person, at: datetime,
    before_log: Reckoning = nothing,
) -> TestPoint:  # fmt: skip
    """A test point with its first number. since: the first day it is to be read. Raises: RegisterRefused"""
    order = order_of(number)
    refuse_taken(part.structure, number)
    point = keep(
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
    before_log([part.structure_id])
    facts = {"number": number, "quantity": quantity, "place": place, "since": since, "part": part.identity}
    log.record(firm_of(part.structure), "point created", point, by=by, at=at, facts=told(facts))
    return point


@transaction.atomic
def describe_point(point: TestPoint, *, place: str, since: date, by: Person, at: datetime) -> TestPoint:
    """Where a point is from a day on. Raises: RegisterRefused

    What is measured there never changes: its readings were judged by it. Retire the point and set up another.
    """
    point = _locked(point)
    require_begun(since, point.structure.site, at)
    require_later(point, since, [point.since, *point.details.values_list("since", flat=True)])
    was = point.place
    facts = change(point, ("place",), {"place": place})
    if not point.details.exists():
        # The first description is kept with the first change of it.
        PointDetail.objects.create(point=point, place=was, since=point.since, recorded_at=point.recorded_at)
    PointDetail.objects.create(point=point, place=place, since=since, recorded_at=at)
    log.record(
        firm_of(point.structure), "point described", point, by=by, at=at,
        facts={"since": since.isoformat(), **facts},
    )  # fmt: skip
    return point


@transaction.atomic
def renumber_point(
    point: TestPoint, *, number: str, since: date, by: Person, at: datetime, before_log: Reckoning = nothing
) -> TestPoint:
    """Give a point another number from a day on; the old one stays findable.

    Raises: RegisterRefused where the number is taken, or the day is yet to come or before an earlier renumbering
    """
    point = _locked(point)
    order = order_of(number)
    if point.retired_on is not None:
        raise RegisterRefused(
            f"Point {point.number} was retired on {shown(point.retired_on)}. It keeps its number."
        )
    if number == point.number:
        raise RegisterRefused(f"The point carries the number {number} already.")
    refuse_taken(point.structure, number)
    require_begun(since, point.structure.site, at)
    latest = point.numbers.latest("since")
    if since < latest.since:
        raise RegisterRefused(
            f"Point {point.number} carries its number since {shown(latest.since)}. Give that day or a later one."
        )
    PointNumber.objects.create(point=point, number=number, number_order=order, since=since, recorded_at=at)
    was, point.number, point.number_order = point.number, number, order
    point.save(update_fields=["number", "number_order"])
    before_log([point.structure_id])
    facts = {"was": was, "is": number, "since": since.isoformat()}
    log.record(firm_of(point.structure), "point renumbered", point, by=by, at=at, facts=facts)
    return point


@transaction.atomic
def retire_point(
    point: TestPoint, *, on: date, reason: str, by: Person, at: datetime, before_log: Reckoning = nothing
) -> TestPoint:
    """From this day on the point is no longer read. Its readings stay. Raises: RegisterRefused"""
    point = _locked(point)
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
    before_log([point.structure_id])
    facts = {"number": point.number, "on": on.isoformat(), "reason": reason.strip()}
    log.record(firm_of(point.structure), "point retired", point, by=by, at=at, facts=facts)
    return point


def _locked(point: TestPoint) -> TestPoint:
    rows = TestPoint.objects.select_for_update(of=("self",), no_key=True)
    return rows.select_related("structure__site__client__firm").get(pk=point.pk)
