"""What a file is, by its own bytes: never by its name, nor by what the browser says of it."""

import warnings
import zipfile
import zlib
from io import BytesIO

from PIL import Image

from sites.imports.faults import ImportRefused
from sites.imports.files import text_of
from sites.models.media import Media

TAKEN = "Files that are taken: PDF, JPEG, PNG, CSV (UTF-8) and XLSX."
# What a workbook must hold and say of itself (ECMA-376 part 1, 12.2; part 2, 10.1), and what it may not: programs.
WORKBOOK, PROGRAMS = "xl/workbook.xml", "vbaproject.bin"
CONTENT_TYPES, SHEETS = "[Content_Types].xml", b"spreadsheetml.sheet.main+xml"
MOST_UNPACKED = 512 * 1024 * 1024
MOST_PACKED = 5_000  # parts; the list of them is read whole
ENTRY_OF_A_PART = b"PK\x01\x02"
MOST_OF_THE_TYPES = 1024 * 1024
MOST_PIXELS = 150_000_000
TOO_MANY_POINTS = "This picture has more than 150 million points. Save it smaller."


class UploadRefused(Exception):
    """A file that is not taken, with the sentence for whoever handed it in."""


def media_of(content: bytes) -> Media:
    """What the bytes are. Raises: UploadRefused for anything that is not taken, or is not whole"""
    if not content:
        raise UploadRefused("The file is empty. Choose the right one, or save it again first.")
    if content.startswith(b"%PDF-"):
        return _pdf(content)
    if content.startswith(b"\xff\xd8\xff"):
        return _picture(content, Media.JPEG)
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return _picture(content, Media.PNG)
    if content.startswith(b"PK\x03\x04"):
        return _workbook(content)
    return _table(content)


def _pdf(content: bytes) -> Media:
    if b"%%EOF" not in content[-2048:]:
        raise UploadRefused("This PDF breaks off before its end. Save it again and hand in the whole file.")
    return Media.PDF


def _picture(content: bytes, media: Media) -> Media:
    """Only the frame of the picture is read; it is never drawn."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(BytesIO(content), formats=[media.name]) as picture:
                width, height = picture.size
                picture.verify()
    except Image.DecompressionBombError as fault:
        raise UploadRefused(TOO_MANY_POINTS) from fault
    except Exception as fault:  # the library raises whatever a damaged file leads it to
        raise UploadRefused("This picture is damaged and cannot be opened. Take or save it again.") from fault
    if width * height > MOST_PIXELS:
        raise UploadRefused(TOO_MANY_POINTS)
    return media


def _workbook(content: bytes) -> Media:
    """Only the list of what is packed is read, and the beginning of the part that says what the others are."""
    if content.count(ENTRY_OF_A_PART) > MOST_PACKED:
        raise UploadRefused(
            "This packed file has more than 5 000 parts, which no workbook needs. Save it anew."
        )
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            inside = packed.infolist()
            types = _beginning_of(packed, CONTENT_TYPES)
    except (zipfile.BadZipFile, zlib.error, ValueError, NotImplementedError, RuntimeError, EOFError) as fault:
        raise UploadRefused("This packed file is damaged or locked. Save it again first.") from fault
    names = {one.filename.lower() for one in inside}
    if any(name.endswith(PROGRAMS) for name in names):
        raise UploadRefused("This workbook carries programs (macros). Save it without them, as XLSX.")
    if WORKBOOK not in names or SHEETS not in types:
        raise UploadRefused(f"This is a packed file, but no workbook. {TAKEN}")
    if sum(one.file_size for one in inside) > MOST_UNPACKED:
        raise UploadRefused("This workbook would unpack to more than 512 MB. Hand in what matters of it.")
    return Media.XLSX


def _beginning_of(packed: zipfile.ZipFile, part: str) -> bytes:
    if part not in packed.namelist():
        return b""
    with packed.open(part) as opened:
        return opened.read(MOST_OF_THE_TYPES)


def _table(content: bytes) -> Media:
    try:
        text = text_of(content)
    except ImportRefused as refused:
        raise UploadRefused(f"This is none of the kinds of file that are kept. {TAKEN}") from refused
    if text.lstrip().startswith("<"):
        raise UploadRefused(f"This is a web page, a drawing in mark-up or XML, which is not kept. {TAKEN}")
    if not any(separator in text for separator in ",;\t"):
        raise UploadRefused(f"This is plain text without columns, not a table. {TAKEN}")
    return Media.CSV
