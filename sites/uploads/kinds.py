"""What a file is, by its own bytes: never by its name, nor by what the browser says of it."""

import warnings
import zipfile
from io import BytesIO

from PIL import Image

from sites.imports.faults import ImportRefused
from sites.imports.files import text_of
from sites.models.media import Media

TAKEN = "Files that are taken: PDF, JPEG, PNG, CSV (UTF-8) and XLSX."
# What a workbook must hold, and what it may not: programs.
WORKBOOK, PROGRAMS = "xl/workbook.xml", "vbaproject.bin"
MOST_UNPACKED = 512 * 1024 * 1024
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
    """Only the list of what is packed is read; nothing is unpacked."""
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            inside = packed.infolist()
    except (zipfile.BadZipFile, ValueError, NotImplementedError) as fault:
        raise UploadRefused("This packed file is damaged. Save it again first.") from fault
    names = {one.filename.lower() for one in inside}
    if WORKBOOK not in names:
        raise UploadRefused(f"This is a packed file, but no workbook. {TAKEN}")
    if any(name.endswith(PROGRAMS) for name in names):
        raise UploadRefused("This workbook carries programs (macros). Save it without them, as XLSX.")
    if sum(one.file_size for one in inside) > MOST_UNPACKED:
        raise UploadRefused("This workbook would unpack to more than 512 MB. Hand in what matters of it.")
    return Media.XLSX


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
