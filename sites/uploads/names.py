"""Names of files as people gave them: shown, and offered for saving; no place on the disk is made of one."""

import re
import unicodedata

from sites.models.media import Media

LONGEST = 120


def shown_name(name: str, media: Media) -> str:
    """The last part of a given name, without what cannot be seen, with the ending of what it really is."""
    last = re.split(r"[\\/]", unicodedata.normalize("NFC", name))[-1]
    seen = "".join(c for c in last if unicodedata.category(c)[0] != "C")
    stem = re.sub(r"\s+", " ", seen).strip(" .").rpartition(".")
    base = (stem[0] if stem[0] and len(stem[2]) <= 5 else "".join(stem)).strip(" .")
    return f"{base[:LONGEST] or 'document'}.{media.ending}"
