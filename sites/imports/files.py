"""From the bytes that were handed in to text; or a sentence that says what they are instead."""

import codecs
from typing import BinaryIO

from django.conf import settings

from sites.imports.faults import refused

SAVE_AS = "Save the sheet as “CSV UTF-8” in your spreadsheet program and hand in that file."

# First bytes, and what such a file is. Nothing here is ever unpacked.
_BEGINNINGS = (
    (b"PK\x03\x04", "a workbook or another packed file (ZIP)"),
    (b"PK\x05\x06", "an empty packed file (ZIP)"),
    (b"PK\x07\x08", "a packed file (ZIP)"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an older workbook or document"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"II*\x00", "a picture (TIFF)"),
    (b"MM\x00*", "a picture (TIFF)"),
    (b"RIFF", "a picture or a recording (RIFF)"),
    (b"\x1f\x8b", "a packed file (gzip)"),
    (b"BZh", "a packed file (bzip2)"),
    (b"\xfd7zXZ", "a packed file (xz)"),
    (b"7z\xbc\xaf", "a packed file (7z)"),
    (b"Rar!", "a packed file (RAR)"),
    (b"SQLite format 3", "a database"),
    (b"{\\rtf", "a text document (RTF)"),
)
_MARKUP = (b"<!doctype", b"<html", b"<?xml", b"<table")
_WIDE = (codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def taken(stream: BinaryIO) -> bytes:
    """The bytes of an upload, read no further than one byte past the limit.

    Raises: ImportRefused above settings.IMPORT_MAX_BYTES
    """
    content = stream.read(settings.IMPORT_MAX_BYTES + 1)
    require_size(len(content))
    return content


def require_size(size: int) -> None:
    """Raises: ImportRefused above the limit, naming it"""
    if size > settings.IMPORT_MAX_BYTES:
        limit = settings.IMPORT_MAX_BYTES / (1024 * 1024)
        raise refused(
            f"The file is larger than {limit:g} MB, the most that is taken over at once. "
            "Split it and hand in the parts one after the other."
        )


def text_of(content: bytes) -> str:
    """The text of a file in UTF-8, with or without a byte order mark. Raises: ImportRefused"""
    require_size(len(content))
    _refuse_other_kinds(content)
    _refuse_wide_letters(content)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = content.count(b"\n", 0, fault.start) + 1
        raise refused(
            "This line holds letters that are not UTF-8, so µ, Ω or é could be read wrongly. " + SAVE_AS, line
        ) from fault
    if not text.strip():
        raise refused("The file is empty. Hand in a file with a line of column names and at least one row.")
    return text


def _refuse_other_kinds(content: bytes) -> None:
    for beginning, kind in _BEGINNINGS:
        if content.startswith(beginning):
            raise refused(f"This is {kind}, not a CSV file. {SAVE_AS}")
    if content[:200].removeprefix(codecs.BOM_UTF8).lstrip().lower().startswith(_MARKUP):
        raise refused(f"This is a web page or XML, not a CSV file. {SAVE_AS}")


def _refuse_wide_letters(content: bytes) -> None:
    if content.startswith(_WIDE):
        raise refused(f"The file is written in UTF-16 or UTF-32 (“Unicode text”). {SAVE_AS}")
    if (where := content.find(b"\0")) >= 0:
        line = content.count(b"\n", 0, where) + 1
        raise refused(f"This line holds a zero byte: the file is no plain text, or damaged. {SAVE_AS}", line)
