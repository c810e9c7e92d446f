"""The time zone by whose days a structure is asked about: as it was on a day, and as the record knew it."""

from collections.abc import Sequence
from datetime import date, datetime

from inspections.replay.facts import Gathered, Place, Zone
from inspections.replay.knowledge import Known, cutoff, is_known


def placed(place: Place, found: Gathered, day: date, known_by: Known) -> tuple[Place, datetime | None]:
    """The place with the zone that held on a day, and the instant before which facts had to be recorded.

    One zone counts a whole answer: also the days of visits that were made while another one held.
    """
    zones: Sequence[Zone] = found.zones.get(place.site, ())
    if not zones:
        return place, cutoff(known_by, place.time_zone)
    before = _before(zones, known_by)
    return place._replace(time_zone=zone_on(zones, day, before)), before


def zone_on(zones: Sequence[Zone], day: date, before: datetime | None) -> str:
    """The zone since the latest day that had come; of one day, as recorded last. Before the first day: the first.

    zones: in the order they were recorded, at least one
    """
    known = [row for row in zones if is_known(row.recorded_at, before)]
    held = [row for row in known if row.since <= day]
    if not held:
        return zones[0].time_zone
    latest = max(row.since for row in held)
    return [row for row in held if row.since == latest][-1].time_zone


def _before(zones: Sequence[Zone], known_by: Known) -> datetime | None:
    """The end of the day known by, in the zone that was known by then.

    A change counts where it was recorded before the day ended by the zone known until then: what is recorded
    after that end can never move it.
    """
    if known_by is None or isinstance(known_by, datetime):
        return cutoff(known_by, zones[0].time_zone)
    end = cutoff(known_by, zones[0].time_zone)
    for row in zones[1:]:
        if not is_known(row.recorded_at, end):
            break
        if row.since <= known_by:
            end = cutoff(known_by, row.time_zone)
    return end
