"""Files that people hand in to be kept as they are: what they may be, how large, how they are handed out again."""

from sites.models.media import Media
from sites.uploads.answering import handed_out
from sites.uploads.kinds import UploadRefused, media_of
from sites.uploads.limit import at_most
from sites.uploads.names import shown_name
from sites.uploads.taking import Taken, taken

__all__ = ["Media", "Taken", "UploadRefused", "at_most", "handed_out", "media_of", "shown_name", "taken"]
