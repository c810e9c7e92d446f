"""Whether a picture tells where it was taken: it is kept as it is, so whoever hands it in should know."""

import warnings
from io import BytesIO

from PIL import ExifTags, Image

# Exif 2.3, 4.6.6: latitude and longitude.
LATITUDE, LONGITUDE = 2, 4


def tells_position(content: bytes) -> bool:
    """Whether a JPEG or PNG carries a latitude and a longitude among its Exif data. What cannot be read tells none."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(BytesIO(content), formats=["JPEG", "PNG"]) as picture:
                found = picture.getexif().get_ifd(ExifTags.IFD.GPSInfo)
    except Exception:  # the library raises whatever odd data lead it to
        return False
    return LATITUDE in found and LONGITUDE in found
