"""Acts on the register that due dates hang on: the register's own acts, with due dates derived in the same transaction.

Acts that nothing is derived from (clients, systems, what a part is like, where a point is) are called in ``sites``
directly.
"""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from django.db import transaction

from inspections import proof
from inspections.actions import due
from inspections.models import Verdict
from sites.actions import register
from sites.actions.register import RegisterRefused
from sites.locks import lock_firm
from sites.models import Part, Person, Site, Structure, System, TestPoint


@transaction.atomic
def create_structure(
    site: Site, *, name: str, since: date, by: Person, at: datetime, **facts: Any
) -> Structure:
    """See ``sites.actions.register.create_structure``."""
    lock_firm(site.client.firm_id)
    return register.create_structure(
        site, name=name, since=since, by=by, at=at, before_log=_refreshed(at), **facts
    )


def describe_structure(
    structure: Structure, *, since: date, by: Person, at: datetime, **changed: Any
) -> Structure:
    """See ``sites.actions.register.describe_structure``."""
    return register.describe_structure(
        structure, since=since, by=by, at=at, before_log=_refreshed(at), **changed
    )


def create_part(
    system: System, *, kind: str, name: str, since: date, by: Person, at: datetime, **facts: Any
) -> Part:
    """See ``sites.actions.register.create_part``. It was not seen at visits that recorded parts while it stood."""
    return register.create_part(
        system, kind=kind, name=name, since=since, by=by, at=at, before_log=_refreshed(at), **facts
    )


def create_point(
    part: Part, *, quantity: str, place: str, number: str, since: date, by: Person, at: datetime
) -> TestPoint:
    """See ``sites.actions.register.create_point``."""
    return register.create_point(
        part, quantity=quantity, place=place, number=number, since=since, by=by, at=at,
        before_log=_refreshed(at),
    )  # fmt: skip


def renumber_point(point: TestPoint, *, number: str, since: date, by: Person, at: datetime) -> TestPoint:
    """See ``sites.actions.register.renumber_point``."""
    return register.renumber_point(point, number=number, since=since, by=by, at=at, before_log=_refreshed(at))


def retire_point(point: TestPoint, *, on: date, reason: str, by: Person, at: datetime) -> TestPoint:
    """See ``sites.actions.register.retire_point``."""
    return register.retire_point(point, on=on, reason=reason, by=by, at=at, before_log=_refreshed(at))


@transaction.atomic
def change_site(site: Site, *, since: date, by: Person, at: datetime, **changed: Any) -> Site:
    """See ``sites.actions.register.change_site``.

    Raises: RegisterRefused also where another time zone would change a verdict that was given by the old one
    """

    def derive(structures: list[int]) -> None:
        if changed.get("time_zone", site.time_zone) != site.time_zone:
            _require_same_verdicts(site)
        due.refresh(structures, at=at)

    return register.change_site(site, since=since, by=by, at=at, before_log=derive, **changed)


def _refreshed(at: datetime) -> Callable[[list[int]], None]:
    return lambda structures: due.refresh(structures, at=at)


def _require_same_verdicts(site: Site) -> None:
    given = Verdict.objects.filter(reading__point__structure__site=site)
    if next(proof.verdict_faults(given), None) is not None:
        raise RegisterRefused(
            "Readings were judged at this site by the days of its time zone, and some would be judged otherwise "
            "by those of the new one. The time zone stays."
        )
