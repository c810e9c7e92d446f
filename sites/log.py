"""Writing to and checking the log: a hash chain per firm that shows any later change.

``record`` is called inside the transaction of the act it records, after everything else that act locks.
"""

import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db import models, transaction
from django.db.models import F

from sites.canonical import canonical_json, sha256_of
from sites.models import Firm, LogEntry, LogHead, Person


def begin(firm: Firm) -> None:
    """Give a new firm the head of its chain."""
    LogHead.objects.create(firm=firm)


def locked_head(firm: Firm) -> LogHead:
    """The firm's head row, locked until the transaction ends. Take it last, so that no two acts wait in a ring."""
    return LogHead.objects.select_for_update(no_key=True).get(pk=firm.pk)


def record(
    firm: Firm,
    action: str,
    subject: Any,
    *,
    by: Person | None,
    at: datetime,
    facts: dict[str, Any] | None = None,
) -> LogEntry:
    """Append one entry about ``subject`` (anything with an identity). ``by`` is None for the system itself."""
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A log entry belongs into the transaction of the act it records.")
    head = locked_head(firm)
    number = head.entries + 1
    payload = canonical_json(
        {
            "version": 1,
            "firm": str(firm.identity),
            "number": number,
            "recorded_at": instant_text(at),
            "action": action,
            "subject": {"kind": kind_of(subject), "identity": str(subject.identity)},
            "by": None if by is None else {"person": str(by.identity), "contact": sealed(by, by.email or "")},
            "facts": facts or {},
        }
    )
    entry = LogEntry.objects.create(
        firm=firm,
        number=number,
        recorded_at=at,
        action=action,
        person=by,
        subject_kind=kind_of(subject),
        subject=subject.identity,
        payload=payload,
        previous=head.hash,
        hash=link(head.hash, payload),
    )
    LogHead.objects.filter(pk=head.pk).update(entries=number, hash=entry.hash)
    return entry


def sealed(person: Person, contact: str) -> str:
    """A contact detail as a salted hash: it can be confirmed while the person's salt exists, never read back."""
    return hashlib.sha256(f"{person.contact_salt}:{contact.casefold()}".encode()).hexdigest()


def kind_of(subject: Any) -> str:
    """What the log calls a thing: its model's name in words."""
    return str(subject._meta.verbose_name)


def instant_text(at: datetime) -> str:
    """An instant as the log and the report write it: UTC to the microsecond."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def link(previous: str, payload: str) -> str:
    """The hash of an entry: it covers the entry before it."""
    return sha256_of(f"{previous}\n{payload}")


def faults(firm: Firm) -> Iterator[str]:
    """What is wrong with a firm's chain, a sentence each; nothing where it is whole."""
    expected, previous = 1, ""
    entries = firm.log.annotate(by=F("person__identity")).order_by("number")
    for entry in entries.iterator(chunk_size=2000):
        while expected < entry.number:
            yield f"{firm}: log entry {expected} is missing."
            expected += 1
        yield from _entry_faults(firm, entry, previous)
        expected, previous = entry.number + 1, entry.hash
    head = LogHead.objects.filter(pk=firm.pk).first()
    if head is None:
        yield f"{firm}: the log has lost its head, so nothing shows whether its end was cut off."
        return
    for number in range(expected, head.entries + 1):
        yield f"{firm}: log entry {number} is missing."
    if expected > head.entries + 1:
        yield f"{firm}: the log holds {expected - 1} entries, its head says {head.entries}."
    elif expected == head.entries + 1 and head.hash != previous:
        yield f"{firm}: the log's head does not carry the hash of its last entry."


def _entry_faults(firm: Firm, entry: Any, previous: str) -> Iterator[str]:
    if entry.previous != previous:
        yield f"{firm}: log entry {entry.number} does not follow the entry before it."
    if entry.hash != link(entry.previous, entry.payload):
        yield f"{firm}: log entry {entry.number} was changed: its hash does not fit its content."
    told = payload_of(entry.payload)
    columns = {
        "firm": str(firm.identity),
        "number": entry.number,
        "action": entry.action,
        "recorded_at": instant_text(entry.recorded_at),
        "subject": {"kind": entry.subject_kind, "identity": str(entry.subject)},
    }
    for name, value in columns.items():
        if told.get(name) != value:
            yield f"{firm}: log entry {entry.number}: the column {name} differs from what was logged."
    by = told.get("by")
    if (by.get("person") if isinstance(by, dict) else None) != (entry.by and str(entry.by)):
        yield f"{firm}: log entry {entry.number}: the column person differs from what was logged."


def payload_of(payload: str) -> dict[str, Any]:
    """What an entry says; nothing where it was changed into something else."""
    try:
        told = json.loads(payload)
    except (ValueError, RecursionError):
        return {}
    return told if isinstance(told, dict) else {}


class Said(NamedTuple):
    """One entry about a thing. firm: its name"""

    firm: str
    action: str
    facts: dict[str, Any]


def said(*actions: str, subject: UUID | None = None) -> dict[UUID, list[Said]]:
    """What the logs say of each thing that these acts were about, oldest first. subject: of this one alone"""
    found: dict[UUID, list[Said]] = {}
    rows = LogEntry.objects.filter(action__in=actions).order_by("firm", "number")
    if subject is not None:
        rows = rows.filter(subject=subject)
    columns = rows.values_list("subject", "firm__name", "action", "payload")
    for identity, firm, action, payload in columns.iterator(chunk_size=2000):
        facts = payload_of(payload).get("facts")
        told = Said(firm, action, facts if isinstance(facts, dict) else {})
        found.setdefault(identity, []).append(told)
    return found


def about(identity: UUID) -> models.QuerySet[LogEntry]:
    """The entries about one thing, oldest first."""
    return LogEntry.objects.filter(subject=identity).order_by("number")
