"""The seal at an archive's end: the SHA-256 of every byte before it, at the end of the zip's comment."""

import hashlib
import os
import zipfile
from pathlib import Path
from typing import BinaryIO

from sites.archive.manifest import ArchiveFault

_MARK = b"downlead archive, sha256 of all before: "
_FIGURES = 64
UNSEALED = _MARK + b"0" * _FIGURES
BLOCK = 1024 * 1024


def put_on(archive: BinaryIO) -> None:
    """Seal a zip whose comment is ``UNSEALED``."""
    length = archive.seek(0, os.SEEK_END) - _FIGURES
    seal = _sha256_of_first(archive, length)
    archive.seek(length)
    archive.write(seal.encode())


def check(archive: BinaryIO, path: Path) -> None:
    """Raises: ArchiveFault where the bytes are not those that were sealed"""
    size = archive.seek(0, os.SEEK_END)
    archive.seek(max(0, size - len(UNSEALED)))
    mark, seal = archive.read(len(_MARK)), archive.read(_FIGURES)
    if mark != _MARK:
        if zipfile.is_zipfile(archive):
            raise ArchiveFault(f"{path} is a zip file, but not one that “backup” made. Nothing was written.")
        raise ArchiveFault(
            f"{path} does not end as an archive does: it is cut short, damaged or something else. "
            "Nothing was written. Fetch a whole copy."
        )
    if seal != _sha256_of_first(archive, size - _FIGURES).encode():
        raise ArchiveFault(
            f"{path} was changed since it was made: its bytes no longer give the seal at its end. "
            "Nothing was written. Fetch an undamaged copy."
        )


def _sha256_of_first(archive: BinaryIO, length: int) -> str:
    archive.seek(0)
    found = hashlib.sha256()
    while length > 0 and (block := archive.read(min(BLOCK, length))):
        found.update(block)
        length -= len(block)
    return found.hexdigest()
