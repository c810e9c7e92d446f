"""Making an archive."""

import fcntl
import hashlib
import json
import os
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO

from django.db import DEFAULT_DB_ALIAS, connections

from sites import filestore
from sites.archive import manifest as manifests
from sites.archive import seal, snapshot, values
from sites.archive.manifest import MANIFEST, MOST_SHOWN, ArchiveFault, HeldFile, HeldTable, Manifest
from sites.archive.tables import Table, tables

COMPRESSION = 3


@dataclass
class _Taken:
    """What was read from the snapshot. named: for each file's hash, the row that names it, in words"""

    migrations: list[str]
    tables: list[HeldTable] = field(default_factory=list)
    named: dict[str, str] = field(default_factory=dict)


def write(path: Path, *, at: datetime, overwrite: bool = False, using: str = DEFAULT_DB_ALIAS) -> Manifest:
    """Write the record and its files to ``path``: it appears whole or not at all, its owner's only.

    at: when the backup was begun
    Raises: ArchiveFault with a sentence; OSError where the disk refuses
    """
    _refuse_existing(path, overwrite)
    connection = connections[using]
    if "django_migrations" not in connection.introspection.table_names():
        raise ArchiveFault("The database holds no record yet, so there is nothing to back up.")
    with _draft(path) as (draft, out):
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=COMPRESSION) as archive:
            archive.comment = seal.UNSEALED
            with snapshot.taken(connection, draft) as query:
                taken = _write_tables(archive, query)
            files = _write_files(archive, taken.named)
            manifest = Manifest(
                product=manifests.product_version(),
                made_at=at.astimezone(UTC).isoformat(timespec="seconds"),
                database=connection.vendor,
                migrations=taken.migrations,
                tables=taken.tables,
                files=files,
            )
            archive.writestr(zipfile.ZipInfo(MANIFEST), manifest.written())
        seal.put_on(out)
        out.flush()
        os.fsync(out.fileno())
        _refuse_existing(path, overwrite)
        draft.replace(path)
        _sync_folder(path.parent)
    return manifest


def _refuse_existing(path: Path, overwrite: bool) -> None:
    if path.is_dir():
        raise ArchiveFault(f"{path} is a folder. Name a file in it.")
    if path.exists() and not overwrite:
        raise ArchiveFault(f"{path} is already there. Choose another name, or add --overwrite to replace it.")
    if not path.parent.is_dir():
        raise ArchiveFault(f"There is no folder {path.parent}. Make it first.")


@contextmanager
def _draft(path: Path) -> Iterator[tuple[Path, BinaryIO]]:
    """FILE.part, locked against a second backup to the same file, and gone at the end whatever happens."""
    draft = path.with_name(f"{path.name}.part")
    handle = os.open(draft, os.O_CREAT | os.O_RDWR, 0o600)
    with os.fdopen(handle, "r+b") as out:
        try:
            fcntl.flock(out, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as fault:
            raise ArchiveFault(f"Another backup to {path} is under way.") from fault
        if not draft.exists() or not os.path.samestat(os.fstat(handle), draft.stat()):
            raise ArchiveFault(f"Another backup to {path} has just ended. Try again.")
        try:
            os.fchmod(handle, 0o600)
            out.truncate()
            yield draft, out
        finally:
            # Renamed by now where all went well.
            if draft.exists() and os.path.samestat(os.fstat(handle), draft.stat()):
                draft.unlink()


def _write_tables(archive: zipfile.ZipFile, query: snapshot.Query) -> _Taken:
    taken = _Taken(manifests.known_to_program(query("SELECT app, name FROM django_migrations")))
    if said := manifests.difference(taken.migrations, manifests.program_migrations()):
        raise ArchiveFault(
            "The database does not have the tables of this program "
            f"({said}). Run “manage.py migrate” first, "
            "or make the backup with the version the database belongs to."
        )
    names = values.names(query)
    for table in tables():
        taken.tables.append(_write_table(archive, table, query, names, taken.named))
    return taken


def _write_table(
    archive: zipfile.ZipFile, table: Table, query: snapshot.Query, names: values.Names, named: dict[str, str]
) -> HeldTable:
    turns = [values.outward(column.kind, names) for column in table.columns]
    columns = [column.name for column in table.columns]
    file_at = columns.index("sha256") if table.names_files else None
    sha256, size, rows = hashlib.sha256(), 0, 0
    with archive.open(f"tables/{table.name}.jsonl", "w", force_zip64=True) as out:
        for raw in query(table.select()):
            try:
                row = [None if value is None else turn(value) for turn, value in zip(turns, raw, strict=True)]
                line = json.dumps(row, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
            except (ValueError, TypeError, KeyError) as fault:
                raise ArchiveFault(
                    f"A row of {table.name} cannot be kept ({fault}). Its first value is {raw[0]!r}."
                ) from fault
            out.write(line)
            sha256.update(line)
            size, rows = size + len(line), rows + 1
            if file_at is not None:
                named.setdefault(str(row[file_at]), f"{table.name} {raw[0]}")
    return HeldTable(size, sha256.hexdigest(), table.name, columns, rows)


def _write_files(archive: zipfile.ZipFile, named: dict[str, str]) -> list[HeldFile]:
    """Files lie in the store before the rows that name them are committed: now all are there."""
    held, faults = [], []
    for sha256 in sorted(named):
        try:
            content = filestore.get(sha256)
        except filestore.FileDamaged as fault:
            faults.append(f"{fault} ({named[sha256]} names it.)")
            continue
        if not faults:
            with archive.open(f"files/{sha256}", "w", force_zip64=True) as out:
                out.write(content)
        held.append(HeldFile(len(content), sha256))
    if faults:
        more = [] if len(faults) <= MOST_SHOWN else [f"And {len(faults) - MOST_SHOWN} more."]
        raise ArchiveFault("\n".join([*faults[:MOST_SHOWN], *more, "No backup was made."]))
    return held


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
