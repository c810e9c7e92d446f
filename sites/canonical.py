"""One way, and only one, to write a value as JSON text, so that equal facts have equal hashes.

Rules: keys sorted by code point, no spaces, UTF-8 unescaped, text in Unicode's composed form (NFC), the ohm
and micro signs of units each by their one code point. Numbers are whole or they are text: a binary float has
no exact decimal form and is refused. Knows nothing of reports: the log writes its payloads with it too.
"""

import hashlib
import json
import re
import unicodedata
from collections.abc import Iterable

# U+03BC is the Greek letter; before a unit and after no letter it stands for micro, U+00B5. In a Greek name
# it stays a letter. (NFC turns OHM SIGN U+2126 into Ω U+03A9 by itself, but leaves the two mu apart.)
_MICRO = re.compile("(?<![^\\W\\d_])\u03bc(?=[\u03a9A-Za-z])")


class NotCanonical(ValueError):
    """The value or the text has no place in a canonical record; the message says why."""


def normal_text(text: str) -> str:
    """The text in NFC, with Ω as U+03A9 and the micro sign of a unit as U+00B5.

    Raises: NotCanonical for half a surrogate pair, which UTF-8 cannot carry.
    """
    composed = _MICRO.sub("\u00b5", unicodedata.normalize("NFC", text.replace("\u2126", "\u03a9")))
    try:
        composed.encode("utf-8")
    except UnicodeEncodeError:
        raise NotCanonical("The text holds half of a character (a lone surrogate). Enter it again.") from None
    return composed


def canonical_json(value: object) -> str:
    """The canonical text of None, bool, int, str, and of lists, tuples and dicts of them.

    Raises: NotCanonical for floats, Decimals, dates and whatever else has no single text.
    """
    return json.dumps(_plain(value), ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def read_canonical(text: str) -> object:
    """The value behind a canonical text.

    Raises: NotCanonical when the text is not JSON, repeats a key, holds a float, or is not in canonical form.
    """
    try:
        value = json.loads(
            text,
            parse_float=_refuse_number,
            parse_constant=_refuse_number,
            object_pairs_hook=_without_repeats,
        )
    except json.JSONDecodeError as error:
        raise NotCanonical(f"The text is not JSON: {error.msg} at character {error.pos}.") from None
    except RecursionError:
        raise NotCanonical("The text is nested too deeply to be a record.") from None
    if canonical_json(value) != text:
        raise NotCanonical(
            "The text is JSON, but not in canonical form: it was changed after it was written."
        )
    return value


def sha256_of(text: str) -> str:
    """The SHA-256 of the text's UTF-8 bytes, as 64 lower-case hexadecimal digits."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def _plain(value: object) -> object:
    if value is None or isinstance(value, bool) or type(value) is int:
        return value
    if isinstance(value, str):
        return normal_text(value)
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, dict):
        return _without_repeats((_key(key), _plain(item)) for key, item in value.items())
    raise NotCanonical(
        f"A {type(value).__name__} ({value!r}) has no exact place in the record. Give it as text."
    )


def _key(key: object) -> str:
    if not isinstance(key, str):
        raise NotCanonical(f"The key {key!r} is not text. Keys of a record are text.")
    return normal_text(key)


def _without_repeats(pairs: Iterable[tuple[str, object]]) -> dict[str, object]:
    result: dict[str, object] = {}
    for key, item in pairs:
        if key in result:
            raise NotCanonical(f"The key {key!r} stands twice.")
        result[key] = item
    return result


def _refuse_number(text: str) -> object:
    raise NotCanonical(f"The number {text} is not whole. A record holds such numbers as text.")
