"""The one family of the report, embedded: Source Sans Pro, regular and semibold (Open Font License)."""

import functools
import re
import threading
from importlib.resources import as_file, files

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR = "SourceSansPro-Regular"
SEMIBOLD = "SourceSansPro-Semibold"

# A font object keeps its place in the font file while it is embedded: one document at a time in a process.
one_at_a_time = threading.Lock()

# Characters with the same look as one the family has; anything else it lacks is named by its number.
_SAME_LOOK = str.maketrans(
    {
        "\u2011": "-",  # no-break hyphen
        "\u2007": "\u00a0",  # figure space
        "\u202f": "\u00a0",  # narrow no-break space
        "\u2009": " ",  # thin space
        "\t": " ",
        "\r": "\n",
        "\u2225": "||",  # parallel to
    }
)
_LINE_ENDS = re.compile(r"\r\n|[\u2028\u2029\u0085]")


@functools.cache
def ready() -> frozenset[int]:
    """Registers both weights once; returns the code points that both can draw."""
    for name in (REGULAR, SEMIBOLD):
        with as_file(files("font_source_sans_pro") / "files" / f"{name}.ttf") as path:
            pdfmetrics.registerFont(TTFont(name, str(path)))
    faces = [pdfmetrics.getFont(name).face for name in (REGULAR, SEMIBOLD)]
    return frozenset.intersection(*(frozenset(face.charWidths) for face in faces))


def printable(text: str) -> str:
    """The text as the family can draw it: a character it lacks stands as `[U+5C71]`, never as an empty box.

    Line ends stay; other control characters are named like missing ones.
    """
    if text.isascii() and text.isprintable():
        return text
    drawn = ready()
    plain = _LINE_ENDS.sub("\n", text).translate(_SAME_LOOK)
    return "".join(
        c if c == "\n" or (ord(c) in drawn and ord(c) >= 32) else f"[U+{ord(c):04X}]" for c in plain
    )


def width_of(text: str, font: str, size: float) -> float:
    """Width in points."""
    return pdfmetrics.stringWidth(text, font, size)
