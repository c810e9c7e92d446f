"""What every act on the register shares: its refusals, its checks, and how a change is set and told."""

from collections.abc import Callable, Iterable
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.db import models

from sites.models import Firm, PartFacts, Site, SiteFacts, Structure, StructureFacts, TestPoint
from sites.ordering import natural_key

SITE_FACTS = tuple(field.name for field in SiteFacts._meta.get_fields())
STRUCTURE_FACTS = tuple(field.name for field in StructureFacts._meta.get_fields())
PART_FACTS = tuple(field.name for field in PartFacts._meta.get_fields())
_Row = TypeVar("_Row", bound=models.Model)

# Derives again what hangs on these structures (ids); called before an act locks the log's head.
Reckoning = Callable[[list[int]], None]


def nothing(_structures: list[int]) -> None:
    """Where nothing is derived from the register."""


class RegisterRefused(Exception):
    """Something the register cannot take, with the sentence for the person who entered it."""


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


def require_begun(since: date, site: Site, at: datetime) -> None:
    """Raises: RegisterRefused for a change on a day that has not come at the site."""
    if since > site.day_at(at):
        raise RegisterRefused(
            "A change is entered on the day or afterwards. Give the day from which it is so."
        )


def require_later(row: models.Model, since: date, days: Iterable[date]) -> None:
    """Raises: RegisterRefused for a day before the last one that the row was described as of."""
    latest = max(days, default=date.min)
    if since < latest:
        raise RegisterRefused(
            f"{row} was described as of {shown(latest)} already. Give that day or a later one."
        )


def shown(day: date) -> str:
    """A day as people read it: 12 Mar 2027."""
    return f"{day.day} {day:%b %Y}"


def keep(row: _Row) -> _Row:
    """Save a new row after the checks that belong to its model. Raises: RegisterRefused"""
    check(row)
    row.save(force_insert=True)
    return row


def check(row: models.Model) -> None:
    """Raises: RegisterRefused in the words of the model's own checks"""
    try:
        row.full_clean()
    except ValidationError as fault:
        raise RegisterRefused(" ".join(fault.messages)) from fault


def change(row: models.Model, allowed: tuple[str, ...], changed: dict[str, Any]) -> dict[str, Any]:
    """Set what differs on the row and save it.

    Returns: what it was and what it is, for the log
    Raises: RegisterRefused where nothing differs, or the row cannot be so
    """
    if unknown := sorted(set(changed) - set(allowed)):
        raise TypeError(f"Not facts of this row: {', '.join(unknown)}")
    differing = {name: value for name, value in changed.items() if getattr(row, name) != value}
    if not differing:
        raise RegisterRefused("The register says all of this already: nothing differs.")
    was = told({name: getattr(row, name) for name in differing})
    for name, value in differing.items():
        setattr(row, name, value)
    check(row)
    row.save(update_fields=list(differing))
    return {"was": was, "is": told(differing)}


def facts_of(row: models.Model, names: tuple[str, ...]) -> dict[str, Any]:
    """The named facts as the row has them."""
    return {name: getattr(row, name) for name in names}


def order_of(number: str) -> str:
    """The natural order of a point's number. Raises: RegisterRefused"""
    if not number.strip():
        raise RegisterRefused("Give the number as it stands on the label.")
    try:
        return natural_key(number)
    except ValueError as fault:
        raise RegisterRefused(str(fault)) from fault


def refuse_taken(structure: Structure, number: str) -> None:
    """Raises: RegisterRefused where a standing point has the number

    Whoever gives out a number at a structure waits for whoever is at it, and sees what they gave.
    """
    Structure.objects.select_for_update(no_key=True).get(pk=structure.pk)
    if TestPoint.objects.filter(structure=structure, number=number, retired_on__isnull=True).exists():
        raise RegisterRefused(
            f"Number {number} is taken at {structure}. Give each point a number of its own."
        )


def firm_of(structure: Structure) -> Firm:
    """Whose log tells of the structure."""
    return structure.site.client.firm


def told(facts: dict[str, Any]) -> dict[str, Any]:
    """Facts as the log takes them: text for everything but yes, no and nothing."""
    return {
        name: value if value is None or isinstance(value, bool) else str(value)
        for name, value in facts.items()
    }
