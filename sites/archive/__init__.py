"""Backup and restore: the whole record and its files in one archive, readable by either database.

An archive is a zip file:

    tables/<table>.jsonl   one row a line: a JSON array in the manifest's column order, by primary key
    files/<sha256>         the bytes of each stored file that a row names
    manifest.json          what the archive holds, with the SHA-256 of every member; not compressed
    (the zip's comment)    the seal: SHA-256 of every byte before it

The seal and the hashes show damage and accident. They are no signature: who can write the file can seal it
anew.
"""

from sites.archive.manifest import ArchiveFault, Manifest
from sites.archive.restoring import restore
from sites.archive.writing import write

__all__ = ["ArchiveFault", "Manifest", "restore", "write"]
