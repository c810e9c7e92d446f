"""What the record knew by a moment."""

from datetime import date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

Known = date | datetime | None
"""None: everything held now. A day: what had been recorded by its end at the site. An instant: by then, it included."""

_TICK = timedelta(microseconds=1)


@lru_cache(maxsize=4096)
def cutoff(known_by: Known, time_zone: str) -> datetime | None:
    """The instant before which a fact must have been recorded; None where every fact counts.

    Raises: ValueError for an instant without an offset
    """
    if known_by is None:
        return None
    if isinstance(known_by, datetime):
        if known_by.tzinfo is None:
            raise ValueError("The moment has no offset. Give one, such as +00:00.")
        return known_by + _TICK
    return datetime.combine(known_by + timedelta(days=1), time(), tzinfo=ZoneInfo(time_zone))


def is_known(recorded_at: datetime, before: datetime | None) -> bool:
    """Whether a fact had been recorded. before: from ``cutoff``"""
    return before is None or recorded_at < before
