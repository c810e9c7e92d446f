"""LIKE whatever the case of a letter: SQLite's own knows only A to Z, so that it would not find “łódź” in “Łódź”.

Every ``icontains`` and ``iexact`` asks with it; PostgreSQL's own knows all letters.
"""

import re
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

ANY_RUN, ANY_LETTER = "%", "_"


def like(pattern: Any, text: Any, escape: str | None = None) -> bool | None:
    """SQL's ``text LIKE pattern ESCAPE escape``; what is no text is compared as it is written, and NULL is unknown.

    >>> like("%ŁÓDŹ%", "Łódź Hall"), like("10_", "101"), like("10!%", "10%", "!"), like("a%", None)
    (True, True, True, None)
    """
    if pattern is None or text is None:
        return None
    return _matching(str(pattern), escape)(str(text).lower())


@lru_cache(maxsize=256)
def _matching(pattern: str, escape: str | None) -> Callable[[str], bool]:
    """Takes a text in small letters."""
    pieces = list(_pieces(pattern.lower(), escape))
    wild = [piece for piece in pieces if piece[1]]
    words = "".join(letter for letter, is_wild in pieces if not is_wild)
    if [letter for letter, _ in wild] == [ANY_RUN, ANY_RUN] and pieces[0][1] and pieces[-1][1]:
        return lambda text: words in text
    written = (
        re.escape(letter) if not is_wild else ".*" if letter == ANY_RUN else "." for letter, is_wild in pieces
    )
    whole = re.compile("".join(written), re.DOTALL)
    return lambda text: whole.fullmatch(text) is not None


def _pieces(pattern: str, escape: str | None) -> Iterator[tuple[str, bool]]:
    """Each letter, and whether it stands for others."""
    letters = iter(pattern)
    for letter in letters:
        if letter == escape:
            yield next(letters, ""), False
        else:
            yield letter, letter in (ANY_RUN, ANY_LETTER)
