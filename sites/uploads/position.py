"""Whether a picture tells where it was taken: it is kept as it is, so whoever hands it in should know."""

import warnings
from io import BytesIO

from PIL import ExifTags, Image

# Exif 2.3, 4.6.6: latitude and longitude.
LATITUDE, LONGITUDE = 2, 4
# PNG, third edition, 5.3 and 11.3.4.5: a chunk is its length, its name, its data and four bytes that check them.
PNG_BEGINS = b"\x89PNG\r\n\x1a\n"
PNG_EXIF = b"eXIf"


def tells_position(content: bytes) -> bool:
    """Whether a JPEG or PNG carries a latitude and a longitude among its Exif data. What cannot be read tells none.

    The picture itself is never unpacked: a small file can hold a very large one.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(BytesIO(content), formats=["JPEG", "PNG"]) as picture:
                if content.startswith(PNG_BEGINS) and (behind := _chunk(content, PNG_EXIF)):
                    picture.info["exif"] = behind  # it may also stand after the picture
                # Not a PNG's own, which draws the whole picture in search of it.
                found = Image.Image.getexif(picture).get_ifd(ExifTags.IFD.GPSInfo)
    except Exception:  # the library raises whatever odd data lead it to
        return False
    return LATITUDE in found and LONGITUDE in found


def _chunk(content: bytes, name: bytes) -> bytes:
    """The data of a PNG's first chunk of this name, empty where it has none."""
    at = len(PNG_BEGINS)
    while at + 12 <= len(content):
        size = int.from_bytes(content[at : at + 4])
        if content[at + 4 : at + 8] == name:
            return content[at + 8 : at + 8 + size]
        at += 12 + size
    return b""
