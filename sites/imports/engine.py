"""The one import engine: rows in, all or nothing.

A file is read and checked as a whole. Either every row is taken over, the file is kept under its hash and one
log entry says so, all in one transaction; or nothing is, and every bad row is named with its line and why.
"""

import gc
import hashlib
from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import PurePosixPath
from typing import Any, ClassVar

from django.db import models, transaction

from sites import filestore, log, row_statistics
from sites.actions.register import shown
from sites.imports.faults import Faults, ImportRefused, refused
from sites.imports.files import text_of
from sites.imports.reader import Column, Row, rows_of
from sites.locks import lock_firm
from sites.models import Firm, ImportedFile, ImportKind, ImportWithdrawal, Person


class Importer(ABC):
    """One kind of file: its columns, how rows are checked against the record, and how they are written.

    An importer is made for one file: it may keep what it has looked up.
    """

    kind: ClassVar[ImportKind]
    columns: Sequence[Column]

    def lock(self, firm: Firm) -> None:
        """Lock what the import hangs on, so that no two imports into one place check at the same time."""
        lock_firm(firm.pk)

    def same_place(self, earlier: models.QuerySet[ImportedFile]) -> models.QuerySet[ImportedFile]:
        """Of earlier imports of the same bytes, those into the same place."""
        return earlier

    @abstractmethod
    def check(self, firm: Firm, rows: list[Row], faults: Faults, *, at: datetime) -> None:
        """Hold the rows against the record and prepare the writing. Cells that could not be read are None."""

    @abstractmethod
    def write(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        """Insert what was prepared. Returns: what was created, for the log."""

    @abstractmethod
    def undo(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        """What a withdrawal changes besides its own row. Returns: that, for the log.

        Raises: ImportRefused where something hangs on the import
        """


def run(
    importer: Importer,
    *,
    firm: Firm,
    name: str,
    content: bytes,
    by: Person,
    at: datetime,
    expected_rows: int | None = None,
) -> ImportedFile:
    """Take a whole file over, or nothing of it.

    name: as the person's own machine calls the file
    expected_rows: how many rows it should hold, where somebody counted: shows a file cut off between lines
    Raises: ImportRefused with every fault
    """
    with _without_tidying():
        return _run(importer, firm, _plain_name(name), content, by, at, expected_rows)


def _run(
    importer: Importer,
    firm: Firm,
    name: str,
    content: bytes,
    by: Person,
    at: datetime,
    expected_rows: int | None,
) -> ImportedFile:
    faults = Faults()
    rows = list(rows_of(text_of(content), importer.columns, faults))
    _check_count(rows, expected_rows, faults)
    sha256 = hashlib.sha256(content).hexdigest()
    with transaction.atomic():
        importer.lock(firm)
        _refuse_second_time(importer, firm, sha256)
        importer.check(firm, rows, faults, at=at)
        faults.refuse()
        count = len(rows)
        rows.clear()  # the importer holds what it prepared from them; both at once would need twice the memory
        filestore.put(content)
        file = ImportedFile.objects.create(
            firm=firm,
            kind=importer.kind,
            name=name,
            sha256=sha256,
            size=len(content),
            rows=count,
            by=by,
            recorded_at=at,
        )
        created = importer.write(file, by=by, at=at)
        facts = {**_facts_of(file), "rows": count, "created": created}
        log.record(firm, f"{importer.kind} imported", file, by=by, at=at, facts=facts)
        row_statistics.renew_once_committed()
    return file


def withdraw(
    importer: Importer, file: ImportedFile, *, reason: str, by: Person, at: datetime
) -> ImportWithdrawal:
    """Undo an import by a row: what it brought stays on record and counts no more.

    Raises: ImportRefused without a reason, the second time, or where something hangs on it
    """
    if not reason.strip():
        raise refused("Say why the import is withdrawn.")
    if importer.kind != file.kind:
        raise TypeError(f"An importer of {importer.kind} cannot withdraw {file.kind}.")
    with transaction.atomic():
        importer.lock(file.firm)
        if ImportWithdrawal.objects.filter(file=file).exists():
            raise refused(f"“{file.name}” was withdrawn already.")
        withdrawal = ImportWithdrawal.objects.create(file=file, reason=reason.strip(), by=by, recorded_at=at)
        undone = importer.undo(file, by=by, at=at)
        facts = {**_facts_of(file), "reason": reason.strip(), "undone": undone}
        log.record(file.firm, f"{importer.kind} import withdrawn", file, by=by, at=at, facts=facts)
    return withdrawal


@contextmanager
def _without_tidying() -> Iterator[None]:
    """No search for rings of garbage meanwhile: rows hold none, and searching them takes a quarter of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@contextmanager
def explained(*situations: type[Exception]) -> Iterator[None]:
    """Turn an act's own refusal, a sentence, into the refusal of the whole file."""
    try:
        yield
    except situations as situation:
        raise refused(str(situation)) from situation


def _check_count(rows: list[Row], expected: int | None, faults: Faults) -> None:
    if expected is not None and len(rows) != expected and not len(faults):
        faults.add(
            0,
            None,
            f"The file holds {len(rows)} rows, not {expected}: it may be cut off. Hand in all of it.",
        )
    if not rows and not len(faults):
        faults.add(0, None, "The file names its columns but holds no rows.")
    if not rows:
        faults.refuse()


def _refuse_second_time(importer: Importer, firm: Firm, sha256: str) -> None:
    earlier = ImportedFile.objects.filter(
        firm=firm, kind=importer.kind, sha256=sha256, withdrawal__isnull=True
    ).select_related("by")
    if before := importer.same_place(earlier).order_by("pk").first():
        raise refused(
            f"This file was imported already: “{before.name}”, {shown(before.recorded_at.date())}, "
            f"by {before.by}. "
            "If that was a mistake, withdraw the earlier import first."
        )


def _facts_of(file: ImportedFile) -> dict[str, Any]:
    return {"kind": str(file.kind), "file": file.name, "sha256": file.sha256}


def _plain_name(name: str) -> str:
    """The file's name without folders and unprintable letters, at most 255 characters."""
    last = PurePosixPath(name.replace("\\", "/")).name
    return "".join(letter for letter in last if letter.isprintable())[-255:] or "unnamed"


__all__ = ["Column", "ImportRefused", "Importer", "Row", "explained", "run", "withdraw"]
