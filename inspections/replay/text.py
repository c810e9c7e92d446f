"""The canonical text of an answer, so that whoever asks again can see that it is the same.

One line a structure, in canonical JSON, lines in the order asked for, each ended by a line feed. The text holds what is
recorded once and for all, and no name that may change: a structure by its identity, a rule by code and edition.
"""

import hashlib
from collections.abc import Iterable
from datetime import date, datetime

from inspections.replay.knowledge import Known
from inspections.replay.status import Stated, Status
from sites.canonical import canonical_json
from sites.log import instant_text


def canonical_line(status: Status) -> str:
    """The line of one structure, without its line feed."""
    first = status.governing
    return canonical_json(
        {
            "version": 1,
            "structure": str(status.place.identity),
            "day": status.day.isoformat(),
            "known_by": _known(status.known_by),
            "on_record": status.detail is not None,
            "obligations": [_told(row, governs=row is first) for row in status.rows],
        }
    )


def digest_of(statuses: Iterable[Status]) -> str:
    """SHA-256 over the lines of an answer, as 64 hexadecimal digits."""
    digest = hashlib.sha256()
    for status in statuses:
        digest.update(f"{canonical_line(status)}\n".encode())
    return digest.hexdigest()


def _known(by: Known) -> str | None:
    if by is None:
        return None
    return instant_text(by) if isinstance(by, datetime) else by.isoformat()


def _told(row: Stated, *, governs: bool) -> dict[str, object]:
    owed = row.obligation
    parts = {} if owed.parts in ("all", ()) else {"parts": list(owed.parts)}
    return {
        "asked_by": _asker(row),
        "demand": owed.demand,
        "points": owed.points if owed.points == "all" else list(owed.points),
        **parts,
        "due": owed.due.isoformat(),
        "grace_until": owed.grace_until.isoformat(),
        "state": owed.state,
        "overdue_since": _day(owed.overdue_since),
        "days_overdue": owed.days_overdue,
        "governs": governs,
        "why": owed.why,
    }


def _asker(row: Stated) -> dict[str, object]:
    if row.rule is not None:
        return {"rule": row.rule.code, "edition": row.rule.edition, "author": row.rule.author_name}
    if row.event is not None:
        return {"event": str(row.event.identity), "kind": row.event.kind, "on": row.event.on.isoformat()}
    return {"suspension": str(row.suspension.identity)} if row.suspension else {}


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
