"""Short ways to write facts for the due-date tests: days as text, one structure of three points."""

from datetime import date, datetime

from inspections.rules.due_dates import (
    DueDates,
    Event,
    IntervalRule,
    Obligation,
    Suspension,
    VisitDone,
    obligations,
)

POINTS = ("1", "2", "3")


def day(text):
    return date.fromisoformat(text)


def rule(basis="rolling", **given):
    for key in ("anchor", "use_on", "first_due", "adopted_from", "adopted_until"):
        if isinstance(given.get(key), str):
            given[key] = day(given[key])
    if isinstance(given.get("recorded"), str):
        given["recorded"] = datetime.fromisoformat(given["recorded"])
    return IntervalRule(**{"id": "r", "demand": "complete", "basis": basis} | given)


def visit(on, kind="complete", points="all", recorded=None, name=None, parts="all"):
    """A visit at noon UTC of a day, or at an instant where the text has a time."""
    finished = datetime.fromisoformat(on if "T" in on else f"{on}T12:00:00+00:00")
    return VisitDone(
        name or f"visit {on}",
        kind,
        finished,
        datetime.fromisoformat(recorded) if recorded else None,
        points if points == "all" else frozenset(points),
        parts if parts == "all" else frozenset(parts),
    )


def event(on, within, kind="strike", recorded=None, name="e"):
    return Event(name, kind, day(on), datetime.fromisoformat(recorded) if recorded else None, within)


def suspension(from_, until=None, recorded=None, return_inspection=True, name="s"):
    return Suspension(
        name,
        day(from_),
        day(until) if until else None,
        datetime.fromisoformat(recorded) if recorded else None,
        return_inspection,
    )


def ask(*rules, visits=(), on, known_by=None, zone="UTC", points=POINTS, **facts) -> DueDates:
    return obligations(
        time_zone=zone,
        rules=rules,
        visits=visits,
        points=points,
        on=day(on),
        known_by=day(known_by) if known_by else None,
        **facts,
    )


def only(*rules, **facts) -> Obligation:
    """The one obligation of a case that must have exactly one."""
    (row,) = ask(*rules, **facts).obligations
    return row


def due(*rules, **facts) -> str:
    return only(*rules, **facts).due.isoformat()
