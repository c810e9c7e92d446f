"""Opening an archive: every byte is checked before anything is taken from it."""

import hashlib
import io
import json
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, cast

from sites.archive import manifest as manifests
from sites.archive import seal
from sites.archive.manifest import MANIFEST, ArchiveFault, Held, HeldFile, HeldTable, Manifest
from sites.archive.tables import Table, tables

LONGEST_ROW = 64 * 1024 * 1024
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    ValueError,
)


class Archive:
    """A checked archive. Each reading of a member checks size and hash again, at its end at the latest."""

    def __init__(self, members: zipfile.ZipFile, manifest: Manifest) -> None:
        self._members = members
        self.manifest = manifest

    def rows(self, table: HeldTable) -> Iterator[list[Any]]:
        """The rows of a table, in the manifest's column order.

        Raises: ArchiveFault where the member is not what the manifest says
        """
        rows = 0
        for line in self._lines(table):
            row = _row(line, table.member)
            if not isinstance(row, list) or len(row) != len(table.columns):
                raise ArchiveFault(
                    f"{table.member}: row {rows + 1} does not fit the table. Nothing was written."
                )
            rows += 1
            yield row
        if rows != table.rows:
            raise ArchiveFault(f"{table.member} holds {rows} rows, the manifest says {table.rows}.")

    def content(self, file: HeldFile) -> bytes:
        """The bytes of a stored file. Raises: ArchiveFault where they are not what the manifest says"""
        return b"".join(self.blocks(file))

    def blocks(self, held: HeldFile | HeldTable) -> Iterator[bytes]:
        """A member's bytes, never more than the manifest says."""
        with _reading_faults(held.member), self._members.open(held.member) as member:
            yield from _checked(iter(lambda: member.read(seal.BLOCK), b""), held, held.member)

    def _lines(self, table: HeldTable) -> Iterator[bytes]:
        with _reading_faults(table.member), self._members.open(table.member) as member:
            buffered = io.BufferedReader(cast(io.RawIOBase, member), seal.BLOCK)
            yield from _checked(iter(lambda: buffered.readline(LONGEST_ROW), b""), table, table.member)


def _row(line: bytes, name: str) -> Any:
    try:
        return json.loads(line)
    except (ValueError, RecursionError) as fault:
        raise ArchiveFault(f"{name} holds a line that is no row ({fault}). Nothing was written.") from fault


def _checked(pieces: Iterator[bytes], held: Held, name: str) -> Iterator[bytes]:
    found, size = hashlib.sha256(), 0
    for piece in pieces:
        size += len(piece)
        if size > held.size:
            raise ArchiveFault(f"{name} is larger than the manifest says. Nothing was written.")
        found.update(piece)
        yield piece
    if size != held.size or found.hexdigest() != held.sha256:
        raise ArchiveFault(f"{name} is not what the manifest says: it was changed. Nothing was written.")


@contextmanager
def opened(path: Path) -> Iterator[Archive]:
    """An archive whose seal, members, sizes and hashes were all found right, made by this program's tables.

    Raises: ArchiveFault with a sentence
    """
    try:
        raw = path.open("rb")
    except OSError as fault:
        raise ArchiveFault(f"{path} cannot be read: {fault.strerror}.") from fault
    with raw:
        seal.check(raw, path)
        with _reading_faults(path.name):
            members = zipfile.ZipFile(raw)
            archive = Archive(members, _manifest_of(members, path))
            _check_program(archive.manifest)
            _check_members(members, archive.manifest)
            _check_contents(archive)
        yield archive


@contextmanager
def _reading_faults(name: str) -> Iterator[None]:
    try:
        yield
    except _BROKEN as fault:
        raise ArchiveFault(f"{name} is not whole ({fault}). Nothing was written.") from fault


def _manifest_of(members: zipfile.ZipFile, path: Path) -> Manifest:
    """The manifest lies uncompressed, so it cannot be larger than the archive."""
    try:
        info = members.getinfo(MANIFEST)
    except KeyError as fault:
        raise ArchiveFault(f"{path} has no manifest. Nothing was written.") from fault
    if info.compress_type != zipfile.ZIP_STORED or info.file_size > path.stat().st_size:
        raise ArchiveFault(f"{path} has a manifest that is packed. Nothing was written.")
    return manifests.read(members.read(info))


def _check_program(manifest: Manifest) -> None:
    if said := manifests.difference(manifest.migrations, manifests.program_migrations()):
        raise ArchiveFault(
            f"The archive was made with Downlead {manifest.product}, whose tables differ from those of this "
            f"program, {manifests.product_version()} ({said}). Restore it with Downlead {manifest.product}, "
            "then upgrade and run “manage.py migrate”. Nothing was written."
        )
    ours = [(table.name, [column.name for column in table.columns]) for table in tables()]
    if ours != [(table.name, table.columns) for table in manifest.tables]:
        raise ArchiveFault("The archive's tables are not those of this program. Nothing was written.")


def _check_members(members: zipfile.ZipFile, manifest: Manifest) -> None:
    """Exactly the members the manifest names, each with the size it says, plainly packed."""
    held: list[HeldTable | HeldFile] = [*manifest.tables, *manifest.files]
    expected = {member.member: member.size for member in held}
    found = [info for info in members.infolist() if info.filename != MANIFEST]
    for info in found:
        if info.filename not in expected:
            raise ArchiveFault(
                f"The archive holds {info.filename!r}, which the manifest does not name. Nothing was written."
            )
        if info.file_size != expected[info.filename]:
            raise ArchiveFault(
                f"{info.filename} declares another size than the manifest. Nothing was written."
            )
        if info.flag_bits & 1 or info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise ArchiveFault(f"{info.filename} is packed in an unknown way. Nothing was written.")
    if absent := set(expected) - {info.filename for info in found}:
        raise ArchiveFault(f"The archive lacks {min(absent)}. Nothing was written.")
    if len(members.infolist()) != len(expected) + 1:
        raise ArchiveFault("The archive holds a member twice. Nothing was written.")


def _check_contents(archive: Archive) -> None:
    """Reads every member to its end. The files must be those that rows name, no more and no fewer."""
    named: dict[str, int] = {}
    for table, held in zip(tables(), archive.manifest.tables, strict=True):
        named.update(_files_named(archive, table, held))
    for file in archive.manifest.files:
        for _ in archive.blocks(file):
            pass
    if named != {file.sha256: file.size for file in archive.manifest.files}:
        raise ArchiveFault("The archive's files are not those its rows name. Nothing was written.")


def _files_named(archive: Archive, table: Table, held: HeldTable) -> dict[str, int]:
    if not table.names_files:
        rows = sum(block.count(b"\n") for block in archive.blocks(held))
        if rows != held.rows:
            raise ArchiveFault(f"{held.member} holds {rows} rows, the manifest says {held.rows}.")
        return {}
    hash_at, size_at = held.columns.index("sha256"), held.columns.index("size")
    return {row[hash_at]: row[size_at] for row in archive.rows(held)}
