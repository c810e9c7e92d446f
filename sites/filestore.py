"""The file store: bytes under their own hash, on the disk before the row that names them is committed."""

import hashlib
import os
import uuid
from pathlib import Path

from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage, Storage, storages


class FileDamaged(Exception):
    """A stored file is missing or its bytes no longer give its name."""


class SyncedFileStorage(FileSystemStorage):
    """A folder whose files are flushed to the disk before ``save`` returns, and appear whole or not at all.

    A file is replaced, never removed first: whoever keeps the same bytes meanwhile finds them throughout.
    """

    def get_available_name(self, name: str, max_length: int | None = None) -> str:
        return name

    def _save(self, name: str, content: ContentFile) -> str:
        target = Path(self.path(name))
        target.parent.mkdir(parents=True, exist_ok=True)
        draft = target.with_name(f"{target.name}.{uuid.uuid4().hex}.part")
        with draft.open("wb") as out:
            for chunk in content.chunks():
                out.write(chunk)
            out.flush()
            os.fsync(out.fileno())
        draft.replace(target)
        for folder in (target.parent, target.parent.parent):
            _sync_folder(folder)
        return name


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _storage() -> Storage:
    return storages["record"]


def name_of(sha256: str) -> str:
    """Where the bytes with this hash lie: no name that a person gave takes part in it."""
    return f"{sha256[:2]}/{sha256}"


def put(content: bytes) -> str:
    """Keep bytes; the same bytes twice are kept once. Returns their SHA-256 as 64 hexadecimal figures."""
    sha256 = hashlib.sha256(content).hexdigest()
    if not _storage().exists(name_of(sha256)) or not _is_whole(sha256):
        _save_as(name_of(sha256), content)
    return sha256


def _save_as(name: str, content: bytes) -> None:
    saved = _storage().save(name, ContentFile(content))
    if saved != name:
        raise RuntimeError("The storage gave a file another name. Set it to replace a file of the same name.")


def holds(sha256: str) -> bool:
    """Whether anything lies under this hash; whether its bytes still give it, ``get`` tells."""
    return _storage().exists(name_of(sha256))


def fault_of(sha256: str, size: int) -> str:
    """ "missing", "damaged" where the size is another, or "" where neither shows. The bytes are not read."""
    if not holds(sha256):
        return "missing"
    return "" if _storage().size(name_of(sha256)) == size else "damaged"


def fault_within(sha256: str) -> str:
    """ "missing", "damaged", or "" where the bytes, read whole, still give their hash."""
    if not holds(sha256):
        return "missing"
    return "" if _is_whole(sha256) else "damaged"


def get(sha256: str) -> bytes:
    """The bytes with this hash. Raises FileDamaged where they are missing or changed."""
    try:
        with _storage().open(name_of(sha256)) as stored:
            content: bytes = stored.read()
    except FileNotFoundError as fault:
        raise FileDamaged(f"The stored file {sha256} is missing.") from fault
    if hashlib.sha256(content).hexdigest() != sha256:
        raise FileDamaged(f"The stored file {sha256} was changed: its bytes no longer give its name.")
    return content


def _is_whole(sha256: str) -> bool:
    try:
        get(sha256)
    except FileDamaged:
        return False
    return True
