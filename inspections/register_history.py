"""What the register said of one thing, and since when: told by the log, which holds every act on it."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sites import log
from sites.models import LogEntry, Paper, ProtectionClass, Quantity, SystemKind
from sites.templatetags.figures import with_unit

MOST = 100

# A fact's name in the log: its word, and its unit where it is a figure.
WORDS: dict[str, tuple[str, str]] = {
    "name": ("Name", ""),
    "paper": ("Paper of reports", ""),
    "address": ("Address", ""),
    "time_zone": ("Time zone", ""),
    "latitude": ("Latitude", "°"),
    "longitude": ("Longitude", "°"),
    "use": ("Use", ""),
    "protection_class": ("Protection class", ""),
    "critical": ("Critical", ""),
    "explosion_risk": ("Explosion risk", ""),
    "roof_perimeter_m": ("Roof perimeter", "m"),
    "height_m": ("Height", "m"),
    "kind": ("Kind", ""),
    "material": ("Material", ""),
    "length_m": ("Length", "m"),
    "section_mm2": ("Section", "mm²"),
    "depth_m": ("Depth", "m"),
    "diameter_mm": ("Diameter", "mm"),
    "from_what": ("From", ""),
    "to_what": ("To", ""),
    "test_joint": ("Test joint", ""),
    "parallel_paths": ("Parallel paths", ""),
    "number": ("Number", ""),
    "quantity": ("What is measured", ""),
    "place": ("Place", ""),
}
_CODES: dict[str, dict[str, str]] = {
    "protection_class": {code: str(label) for code, label in ProtectionClass.choices},
    "kind": {code: str(label) for code, label in SystemKind.choices},
    "quantity": {code: str(label) for code, label in Quantity.choices},
    "paper": {code: str(label) for code, label in Paper.choices},
}
UNKNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Change:
    """One fact that became another. was: None where it was said for the first time"""

    word: str
    was: str | None
    now: str


@dataclass(frozen=True, slots=True)
class Past:
    """An act on the register. since: the day from which it is so, where one was said; by: "" for the system"""

    what: str
    since: date | None
    recorded_at: datetime
    by: str
    reason: str
    changes: tuple[Change, ...]


def history(subject: Any) -> list[Past]:
    """The latest acts on something in the register, the newest first; one query."""
    entries = log.about(subject.identity).select_related("person").order_by("-number")[:MOST]
    return [_past(entry) for entry in entries]


def _past(entry: LogEntry) -> Past:
    facts = json.loads(entry.payload)["facts"]
    since = facts.get("since") or facts.get("on")
    return Past(
        what=entry.action.capitalize(),
        since=date.fromisoformat(since) if since else None,
        recorded_at=entry.recorded_at,
        by=entry.person.name if entry.person else "",
        reason=facts.get("reason", ""),
        changes=tuple(_changes(facts)),
    )


def _changes(facts: dict[str, Any]) -> Iterable[Change]:
    was, now = facts.get("was"), facts.get("is")
    if isinstance(now, dict) and isinstance(was, dict):
        return [Change(WORDS[name][0], said(name, was[name]), said(name, now[name])) for name in now]
    if now is not None:
        return [Change("Number", str(was), str(now))]
    if "on" in facts:
        return []  # retired: the day and the reason say it all
    first = {name: value for name, value in facts.items() if name in WORDS and value not in (None, "")}
    return [Change(WORDS[name][0], None, said(name, value)) for name, value in first.items()]


def said(name: str, value: Any) -> str:
    """A fact as people read it. value: as the log has it"""
    if value is None or value == "":
        return UNKNOWN
    if isinstance(value, bool):
        return "yes" if value else "no"
    unit = WORDS[name][1]
    return with_unit(value, unit) if unit else _CODES.get(name, {}).get(value, str(value))
