"""Letters nobody can see: refused wherever somebody gives words, in forms, names of files and files alike.

Two names that look the same are then the same, and what stands on a page is what was written.
Source: Unicode Standard, general categories; Unicode Standard Annex #9 for the marks that turn the direction of
writing; the property Default_Ignorable_Code_Point for what shows as nothing (its ranges from memory).
"""

import re
import unicodedata

# Embeddings, overrides, isolates and marks of the bidirectional algorithm: a figure beside one shows in another order
# than it is stored in. Letters of writings from right to left need none of them.
_TURNS = "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"
_NOTHING = (
    "\u00ad\u034f\u115f\u1160\u17b4\u17b5\u180e\u200b\u2028\u2029\u2060-\u2065\u206a-\u206f\u3164\ufeff\uffa0"
    "\ufff0-\ufffb\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e00ff"
)
# Controls, halves of surrogate pairs, private and unassigned letters.
_NOT_PRINTED = ("Cc", "Cs", "Co", "Cn")
# Joiners are part of some writings and of pictures made of several; elsewhere they are nothing that shows.
_JOINERS = "\u200c\u200d"
_JOINED = ("Lo", "Mn", "Mc", "So", "Sk")
_LINES = {"\t": "a tab", "\n": "a line break", "\r": "a line break"}
_PLAIN = re.compile(r"[ -~]*")
_ODD = re.compile(
    f"(?P<turns>[{_TURNS}])|(?P<nothing>[{_NOTHING}])|(?P<joiner>[{_JOINERS}])|(?P<other>[^ -~])"
)
_SHOWN = 20


def unseen_in(words: str, what: str, *, lines: bool = False) -> str:
    """The sentence for the first letter in the words that nobody can see; empty where there is none.

    what: what holds the words, e.g. "The field"
    lines: whether line breaks and tabs are part of them
    """
    if _PLAIN.fullmatch(words):
        return ""
    for found in _ODD.finditer(words):
        letter, place = found.group(), found.start()
        if found["turns"]:
            fault = "a mark that turns the direction of writing, so it would show other than it is"
        elif found["nothing"] or (found["joiner"] and not _joins(words, place)):
            fault = "a character that nobody can see"
        elif letter in _LINES and lines:
            continue
        elif letter in _LINES:
            fault = _LINES[letter]
        elif unicodedata.category(letter) in _NOT_PRINTED:
            fault = "a character that cannot be printed"
        else:
            continue
        before = words[:place].rstrip()
        where = f"after “{before[-_SHOWN:].lstrip()}”" if before else "at its beginning"
        return f"{what} holds {fault}. It stands {where}; type it anew."
    return ""


def _joins(words: str, place: int) -> bool:
    return place > 0 and unicodedata.category(words[place - 1]) in _JOINED
