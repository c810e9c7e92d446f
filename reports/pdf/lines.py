"""Text into lines of a given width. No mark-up is read, so whatever a name holds prints literally."""

from collections.abc import Iterator

from reports.pdf.style import Style
from reports.pdf.typeface import width_of
from reports.pdf.words import GLUE

_BREAK_AFTER = "/-\u2013,;:_.\\|"


def wrap(text: str, style: Style, width: float) -> list[str]:
    """Lines none of which is wider than `width` points; a word that is wider is broken inside."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        lines.extend(_lines(paragraph, style, width))
    return lines


def shortened(text: str, style: Style, width: float) -> str:
    """One line of at most `width` points, with … where something was left out."""
    text = text.replace(GLUE, " ").replace("\n", " ")
    if width_of(text, style.font, style.size) <= width:
        return text
    while text and width_of(text + "\u2026", style.font, style.size) > width:
        text = text[:-1]
    return text.rstrip() + "\u2026"


def _lines(paragraph: str, style: Style, width: float) -> list[str]:
    whole = paragraph.replace(GLUE, " ")
    if width_of(whole, style.font, style.size) <= width:
        return [whole]
    space = width_of(" ", style.font, style.size)
    lines, line, used = [], "", 0.0
    for word in _words(paragraph, style, width):
        needed = width_of(word, style.font, style.size)
        if line and used + space + needed > width:
            lines.append(line)
            line, used = word, needed
        else:
            used += needed + (space if line else 0.0)
            line = f"{line} {word}" if line else word
    return [*lines, line]


def _words(paragraph: str, style: Style, width: float) -> Iterator[str]:
    for word in paragraph.split(" "):
        rest = word.replace(GLUE, " ")
        while rest and width_of(rest, style.font, style.size) > width:
            cut = _cut(rest, style, width)
            yield rest[:cut]
            rest = rest[cut:]
        if rest:
            yield rest


def _cut(word: str, style: Style, width: float) -> int:
    """How many characters fit, rather after a separator; at least one."""
    fits = 1
    while fits < len(word) and width_of(word[: fits + 1], style.font, style.size) <= width:
        fits += 1
    for place in range(fits, fits // 2, -1):
        if word[place - 1] in _BREAK_AFTER or word[place - 1] in " \u00a0":
            return place
    return fits
