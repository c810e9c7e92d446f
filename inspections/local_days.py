"""The civil day at each site, inside a query.

At any instant the whole world shows at most three dates, so a list over sites of every zone needs one
CASE with the zones of the two lesser dates and no query more. The names of these zones are written into the
statement: as some hundred parameters they cost more than the rest of a list's query.
"""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo, available_timezones

from django.db.models import BooleanField, Case, DateField, DateTimeField, F, Func, Value, When


@lru_cache(maxsize=4)
def _zones_by_day(minute: datetime) -> tuple[tuple[date, tuple[str, ...]], ...]:
    """Each date in force somewhere, with its zones by name; the date of most zones first."""
    zones: dict[date, list[str]] = {}
    for name in sorted(available_timezones()):
        zones.setdefault(minute.astimezone(ZoneInfo(name)).date(), []).append(name)
    return tuple(
        (day, tuple(names)) for day, names in sorted(zones.items(), key=lambda found: -len(found[1]))
    )


def days_in_force(at: datetime) -> list[date]:
    """The two or three dates that calendars show at an instant, earliest first.

    Offsets are whole minutes, so every date begins on a whole minute.
    """
    return sorted(day for day, _ in _zones_by_day(_minute(at)))


def usual_day(at: datetime) -> date:
    """The date that most zones show."""
    return _zones_by_day(_minute(at))[0][0]


def local_day(zone_field: str, at: datetime, *, plus_days: int = 0) -> Case:
    """The civil day at an instant in the zone that a column names, for ``annotate``.

    zone_field: lookup of an IANA zone name, e.g. "site__time_zone"
    plus_days: days added to it
    """
    usual, *others = _zones_by_day(_minute(at))
    added = timedelta(days=plus_days)
    return Case(
        *(When(_one_of(zone_field, names), then=Value(day + added)) for day, names in others),
        default=Value(usual[0] + added),
        output_field=DateField(),
    )


def _one_of(zone_field: str, names: Iterable[str]) -> Func:
    """Whether a column names one of these zones, which come from the zone database and from nobody else."""
    listed = ", ".join(f"'{name}'" for name in names)
    return Func(F(zone_field), template=f"%(expressions)s IN ({listed})", output_field=BooleanField())


def day_begins(zone_field: str, day: date) -> Case:
    """The instant at which a civil day begins in the zone that a column names, to compare an instant with.

    zone_field: lookup of an IANA zone name; zones that begin the day together share a branch
    """
    usual, *others = _beginnings(day)
    return Case(
        *(When(_one_of(zone_field, names), then=Value(begins)) for begins, names in others),
        default=Value(usual[0]),
        output_field=DateTimeField(),
    )


@lru_cache(maxsize=16)
def _beginnings(day: date) -> tuple[tuple[datetime, tuple[str, ...]], ...]:
    """Each instant at which the day begins somewhere, with its zones; that of most zones first."""
    zones: dict[datetime, list[str]] = {}
    for name in sorted(available_timezones()):
        begins = datetime.combine(day, time.min, ZoneInfo(name)).astimezone(UTC)
        zones.setdefault(begins, []).append(name)
    return tuple((at, tuple(names)) for at, names in sorted(zones.items(), key=lambda found: -len(found[1])))


def _minute(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)
