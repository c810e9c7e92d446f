"""Natural order of what people write on labels: 2, 10, 12, 12A."""

import re
import unicodedata

KEY_LENGTH = 160
NUMBER_LENGTH = 24
_PIECES = re.compile(r"\d+|\D+")
_DIGITS = 10
_RUN_OF_DIGITS = re.compile("[0-9]+")


def natural_key(number: str) -> str:
    """A text that sorts, in any database and collation, as a person would sort the numbers.

    number: a point's number as written, e.g. "12A"; at most 24 characters
    Returns: 0 and ten digits for a run of digits; 1, five hexadecimal figures a letter and 00000 for other runs,
    so that only 0-9 and a-f occur and no collation can disagree
    Raises: ValueError for a longer number, or a run of more than ten digits, which no label carries

    >>> sorted(["12A", "10", "2", "12", "A1"], key=natural_key)
    ['2', '10', '12', '12A', 'A1']
    """
    text = unicodedata.normalize("NFC", number.strip()).casefold()
    if len(text) > NUMBER_LENGTH:
        raise ValueError(f"“{number}” is longer than {NUMBER_LENGTH} characters.")
    return "".join(_piece_key(piece, number) for piece in _PIECES.findall(text))


def _piece_key(piece: str, number: str) -> str:
    if not piece[0].isdecimal():
        return "1" + "".join(f"{ord(letter):05x}" for letter in piece) + "00000"
    digits = str(int(piece))
    if len(digits) > _DIGITS:
        raise ValueError(f"“{number}” has a run of more than {_DIGITS} digits.")
    return "0" + digits.zfill(_DIGITS)


NATURAL_FUNCTION = "downlead_natural"
NATURAL_DIGITS = 20


def natural_text(text: str | None) -> str | None:
    """What a name of any length sorts by: in small letters, each run of digits filled up with zeros to twenty.

    SQLite calls this for ``sites.tables.sorting.Natural``, which says the same to PostgreSQL in its own words.

    >>> sorted(["Hall 10", "hall 2", "Depot"], key=natural_text)
    ['Depot', 'hall 2', 'Hall 10']
    """
    if text is None:
        return None
    return _RUN_OF_DIGITS.sub(lambda run: run[0].zfill(NATURAL_DIGITS)[-NATURAL_DIGITS:], text.lower())
