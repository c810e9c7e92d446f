"""The drift on a trend picture: its line, the band of its interval, and about when the limit is passed."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime

from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import svg

Ends = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Band:
    """Three straight lines from first to end, each as its values at both, in the drawing's unit.

    crossing, earliest, latest: where they meet the limit, as far as they do; words: about when that is
    """

    first: datetime
    end: datetime
    middle: Ends
    lower: Ends
    upper: Ends
    crossing: datetime | None = None
    earliest: datetime | None = None
    latest: datetime | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Box:
    """The drawing's inner part, which nothing of the band leaves."""

    left: float
    top: float
    right: float
    floor: float


def shapes(
    band: Band, limit: float | None, x: Callable[[datetime], float], y: Callable[[float], float], box: Box
) -> Iterator[SafeString]:
    """x, y: places of a moment and of a value, also of those outside the box, which are cut off"""
    start, end = svg.place(x(band.first)), svg.place(x(band.end))
    corners = ((start, band.lower[0]), (end, band.lower[1]), (end, band.upper[1]), (start, band.upper[0]))
    outline = "L".join(f"{at} {svg.place(y(value))}" for at, value in corners)
    inside = [
        format_html('<path class="fill-line" d="M{}Z"/>', outline),
        svg.path(
            "soft",
            f"M{start} {svg.place(y(band.middle[0]))}L{end} {svg.place(y(band.middle[1]))}",
            1.5,
            "4 4",
        ),
    ]
    yield format_html(
        '<svg x="{0}" y="{1}" width="{2}" height="{3}" viewBox="{0} {1} {2} {3}">{4}</svg>',
        svg.place(box.left), svg.place(box.top), svg.place(box.right - box.left), svg.place(box.floor - box.top),
        svg.joined(inside),
    )  # fmt: skip
    if limit is not None:
        yield from _crossings(band, y(limit), x, box)


def _crossings(band: Band, at_limit: float, x: Callable[[datetime], float], box: Box) -> Iterator[SafeString]:
    """Upright marks on the limit: the ends of the band short, the line's own longer, with its month."""
    for moment, half in ((band.earliest, 5.0), (band.latest, 5.0), (band.crossing, 8.0)):
        if moment is not None and box.left <= x(moment) <= box.right:
            yield svg.path(
                "rule", f"M{svg.place(x(moment))} {svg.place(at_limit - half)}v{svg.place(2 * half)}", 1.5
            )
    if band.words:
        half = len(band.words) * 3.5 + 4
        middle = x(band.crossing) if band.crossing else box.right
        yield svg.text(
            min(max(middle, box.left + half), box.right - half), at_limit + 24, band.words, "w halo", "middle"
        )


def split_mark(x: float, words: str, box: Box) -> Iterator[SafeString]:
    """A day on which a new series begins: an upright through the drawing, named at its foot."""
    yield svg.path("soft", f"M{svg.place(x)} {svg.place(box.top)}V{svg.place(box.floor)}", 1, "1 3")
    near_right = x > box.right - len(words) * 7
    yield svg.text(
        x - 5 if near_right else x + 5, box.floor - 8, words, "q halo", "end" if near_right else "start"
    )
