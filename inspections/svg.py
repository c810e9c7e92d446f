"""Plain SVG shapes with the look's classes: no style, no script, text escaped."""

from collections.abc import Iterable

from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from sites.templatetags.figures import NO_BREAK_SPACE


def place(number: float) -> str:
    """A place on a drawing, to a tenth of its unit."""
    return f"{number:.1f}".removesuffix(".0")


def path(classes: str, d: str, width: float, dashes: str = "") -> SafeString:
    """A line without a fill."""
    dashed = format_html(' stroke-dasharray="{}"', dashes) if dashes else ""
    return format_html(
        '<path class="{}" fill="none" stroke-width="{}"{} d="{}"/>', classes, place(width), dashed, d
    )


def text(x: float, y: float, words: str, classes: str, anchor: str) -> SafeString:
    """Words at a place; anchor: start, middle or end. Spaces do not break."""
    return format_html(
        '<text class="{}" font-size="13" x="{}" y="{}" text-anchor="{}">{}</text>',
        classes, place(x), place(y), anchor, words.replace(" ", NO_BREAK_SPACE),
    )  # fmt: skip


def joined(parts: Iterable[SafeString]) -> SafeString:
    """Shapes one after the other."""
    return mark_safe("".join(parts))  # noqa: S308 - every part was made by format_html


def figure(
    width: float, height: float, name: str, title: str, words: str, parts: Iterable[SafeString]
) -> SafeString:
    """A whole drawing. name: unique on its page; words: what it shows, for those who do not see it"""
    return format_html(
        '<svg class="figure" viewBox="0 0 {} {}" role="img" aria-labelledby="{}-title {}-words">'
        '<title id="{}-title">{}</title><desc id="{}-words">{}</desc>{}</svg>',
        place(width), place(height), name, name, name, title, name, words, joined(parts),
    )  # fmt: skip
