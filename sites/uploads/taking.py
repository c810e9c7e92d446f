"""From an upload to bytes that lie in the file store."""

from dataclasses import dataclass
from typing import BinaryIO

from django.conf import settings

from sites import filestore
from sites.models.media import Media
from sites.uploads.kinds import UploadRefused, media_of
from sites.uploads.names import shown_name
from sites.uploads.position import tells_position


@dataclass(frozen=True, slots=True)
class Taken:
    """A file in the store: the name to show, what it is, its hash and size. Not yet named by any row.

    tells_position: a picture that says where it was taken
    """

    name: str
    media: Media
    sha256: str
    size: int
    tells_position: bool = False


def taken(stream: BinaryIO, name: str) -> Taken:
    """Read, looked at and kept on the disk, under its own hash. Raises: UploadRefused"""
    content = stream.read(settings.DOCUMENT_MAX_BYTES + 1)
    if len(content) > settings.DOCUMENT_MAX_BYTES:
        most = settings.DOCUMENT_MAX_BYTES / (1024 * 1024)
        raise UploadRefused(f"The file is larger than {most:g} MB, the most that is kept as one document.")
    media = media_of(content)
    told = media.is_picture and tells_position(content)
    return Taken(shown_name(name, media), media, filestore.put(content), len(content), told)
