"""Proof that what was issued and kept is what the log says of it: facts and files against their hashes, rows against
the entries of the acts that made them.

A row and its own hash can be changed together by whoever holds the database's keys; the log's chain has the hash too.
"""

import json
from collections.abc import Iterator
from functools import cached_property
from typing import Any
from uuid import UUID

from inspections.models import CalibrationFile
from reports.models import Issue
from sites import filestore, log
from sites.canonical import canonical_json, sha256_of
from sites.models import Document, ImportedFile, ImportKind, LogEntry, Revision

ISSUED, ATTACHED, WITHDRAWN = "report issued", "report file attached", "report withdrawn"
ADDED, REVISED, DOCUMENT_WITHDRAWN = "document added", "document revised", "document withdrawn"
CALIBRATED, RECALIBRATED = "calibration recorded", "calibration corrected"
IMPORTED = {str(kind): f"{kind} imported" for kind in ImportKind.values}
IMPORT_WITHDRAWN = {str(kind): f"{kind} import withdrawn" for kind in ImportKind.values}


class _Entries:
    """What the log says of one thing.

    Others go on working meanwhile: what the log said before the thing's row was read, the row must bear out; what the
    row says, the log must say by now.
    """

    def __init__(self, identity: UUID, before: list[log.Said], actions: tuple[str, ...]) -> None:
        self._identity, self._before, self._actions = identity, before, actions

    def bear_out(self, stated: dict[str, Any], *actions: str) -> bool:
        """Whether an entry of one of these acts states all of this, written as the log writes it."""
        written = json.loads(canonical_json(stated))
        return _states(self._before, written, actions) or _states(self._now, written, actions)

    def tell(self, action: str) -> list[log.Said]:
        """The entries of this act that were there before the row was read."""
        return [one for one in self._before if one.action == action]

    @cached_property
    def _now(self) -> list[log.Said]:
        return log.said(*self._actions, subject=self._identity).get(self._identity, [])


class _Logged:
    """What the log says of things of one kind. Made before their rows are read."""

    def __init__(self, *actions: str) -> None:
        self._actions = actions
        self._entries = log.said(*actions)
        self._asked: set[UUID] = set()

    def of(self, identity: UUID) -> _Entries:
        self._asked.add(identity)
        return _Entries(identity, self._entries.get(identity, []), self._actions)

    def without_row(self, action: str) -> Iterator[log.Said]:
        """Entries of this act about things that were never asked for, since they have no row."""
        for identity in self._entries.keys() - self._asked:
            yield from (one for one in self._entries[identity] if one.action == action)


def issue_faults() -> Iterator[str]:
    """Issues whose facts or file are not what was recorded, or whose file was never made; a sentence each."""
    logged = _Logged(ISSUED, ATTACHED, WITHDRAWN)
    rows = Issue.objects.select_related("file", "firm", "visit", "withdrawal").order_by("pk")
    for issue in rows.iterator(chunk_size=100):
        name = f"{issue.firm}: report {issue.number}, issue {issue.issue}"
        entries = logged.of(issue.identity)
        if sha256_of(issue.facts) != issue.facts_sha256:
            yield f"{name}: the frozen facts were changed: they no longer give their hash."
        stated = {"report": issue.number, "issue": issue.issue, "visit": str(issue.visit.identity)}
        if not entries.bear_out(stated | {"facts_sha256": issue.facts_sha256}, ISSUED):
            yield f"{name}: what the log says was issued is something else."
        yield from _head_faults(name, issue)
        if hasattr(issue, "file"):
            if not entries.bear_out({"sha256": issue.file.sha256, "bytes": issue.file.size}, ATTACHED):
                yield f"{name}: what the log says was attached is another file."
            yield from _file_faults(name, issue.file.sha256)
        elif entries.tell(ATTACHED):
            yield f"{name}: the log says that its file was attached, and it no longer is."
        else:
            yield f"{name}: its file was never attached. Run “manage.py attach_reports”."
        yield from _withdrawal_faults(name, entries, WITHDRAWN, issue)
    for one in logged.without_row(ISSUED):
        told = f"report {one.facts.get('report')}, issue {one.facts.get('issue')}"
        yield f"{one.firm}: {told}: the log says that it was issued, and it is no longer on record."


def _head_faults(name: str, issue: Issue) -> Iterator[str]:
    """A report names the log's last entry before it; the log must still hold that one, with that hash."""
    stood = log.payload_of(issue.facts).get("log_head")
    if not isinstance(stood, dict) or not stood.get("number"):
        return
    entry = LogEntry.objects.filter(firm=issue.firm_id, number=stood["number"]).values_list("hash", flat=True)
    if entry.first() != stood.get("hash"):
        yield f"{name}: the log no longer holds the entry that the report names as its last, {stood['number']}."


def import_faults() -> Iterator[str]:
    """Imported files that are missing, changed, or not those the log names; a sentence each."""
    logged = _Logged(*IMPORTED.values(), *IMPORT_WITHDRAWN.values())
    for row in ImportedFile.objects.select_related("firm", "withdrawal").order_by("pk").iterator(500):
        name = f"{row.firm}: imported file “{row.name}”"
        entries = logged.of(row.identity)
        stated = {"kind": row.kind, "file": row.name, "sha256": row.sha256, "rows": row.rows}
        if not entries.bear_out(stated, IMPORTED[row.kind]):
            yield f"{name}: what the log says was imported is another file."
        yield from _withdrawal_faults(name, entries, IMPORT_WITHDRAWN[row.kind], row)
        yield from _file_faults(name, row.sha256)
    for action in IMPORTED.values():
        for one in logged.without_row(action):
            told = f"imported file “{one.facts.get('file')}”"
            yield f"{one.firm}: {told}: the log says that it was imported, and it is no longer on record."


def document_faults() -> Iterator[str]:
    """Documents and their revisions that are missing, changed, or not those the log names; a sentence each."""
    logged = _Logged(ADDED, REVISED, DOCUMENT_WITHDRAWN)
    documents = Document.objects.select_related("site__client__firm", "withdrawal").order_by("pk")
    for document in documents.prefetch_related("revisions").iterator(500):
        firm, entries = document.site.client.firm, logged.of(document.identity)
        revisions = list(document.revisions.all())
        for row in revisions:
            stated = {"revision": row.number, "name": row.name, "sha256": row.sha256, "bytes": row.size}
            if not entries.bear_out(stated, ADDED, REVISED):
                yield f"{firm}: {_of(document, row)}: what the log says was kept is another file."
            yield from _file_faults(f"{firm}: {_of(document, row)}", row.sha256)
        kept = {row.number for row in revisions}
        for one in [*entries.tell(ADDED), *entries.tell(REVISED)]:
            if (number := one.facts.get("revision")) not in kept:
                told = f"revision {number} of {document}"
                yield f"{firm}: {told}: the log says that it was kept, and it is no longer on record."
        yield from _withdrawal_faults(f"{firm}: {document}", entries, DOCUMENT_WITHDRAWN, document)
    for one in logged.without_row(ADDED):
        told = f"document “{one.facts.get('title')}”"
        yield f"{one.firm}: {told}: the log says that it was added, and it is no longer on record."


def _of(document: Document, revision: Revision) -> str:
    return f"{document}, revision {revision.mark or revision.number} (“{revision.name}”)"


def certificate_faults() -> Iterator[str]:
    """Certificates of instruments that are missing, changed, or not those the log names; a sentence each."""
    logged = _Logged(CALIBRATED, RECALIBRATED)
    rows = CalibrationFile.objects.select_related("calibration__instrument__firm").order_by("pk")
    for row in rows.iterator(chunk_size=500):
        instrument = row.calibration.instrument
        name = f"{instrument.firm}: {row.calibration} of {instrument}"
        if not logged.of(instrument.identity).bear_out({"sha256": row.sha256}, CALIBRATED, RECALIBRATED):
            yield f"{name}: what the log says was kept is another file."
        yield from _file_faults(name, row.sha256)


def _states(entries: list[log.Said], written: dict[str, Any], actions: tuple[str, ...]) -> bool:
    return any(
        all(one.facts.get(name) == value for name, value in written.items())
        for one in entries
        if one.action in actions
    )


def _withdrawal_faults(name: str, entries: _Entries, action: str, row: Any) -> Iterator[str]:
    """row: what was withdrawn, or not"""
    withdrawal = getattr(row, "withdrawal", None)
    if withdrawal is None and entries.tell(action):
        yield f"{name}: the log says that it was withdrawn, and that is no longer on record."
    elif withdrawal is not None and not entries.bear_out({"reason": withdrawal.reason}, action):
        yield f"{name}: it was not withdrawn by an act that the log has, or for another reason."


def _file_faults(name: str, sha256: str) -> Iterator[str]:
    try:
        filestore.get(sha256)
    except filestore.FileDamaged as fault:
        yield f"{name}: {fault}"
