"""How days, times, numbers and absences are written on paper."""

import re
from datetime import date

from reports.facts import Amount

GLUE = "\ue000"  # drawn as an ordinary space, never broken at
NO_BREAK = "\u00a0"
MINUS = "\u2212"
NOT_TAKEN = "not taken"
NOT_RECORDED = "not recorded"
NONE_RECORDED = "None recorded."
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

_ISO_DAY = re.compile(r"(?<![\w-])([0-9]{4}-[01][0-9]-[0-3][0-9])(?![\w-])")
_LEADING_MINUS = re.compile(r"(?<![\w.)\]-])-(?=[0-9.])")
_BETWEEN = re.compile(r"(?<=[0-9)]) - (?=[0-9(])")
_EQUALS = re.compile("(?<![^\\W\\d_])([^\\W\\d_]) = ")
_UNIT = re.compile(
    "(?<=[0-9]) "
    "(?=(?:[pnµmckMG]?(?:Ω|ohm|A|V|W|Hz|S|F|H|s|m²|m|g)|mm²|km|%|°C|°|K|h|min|days?|months?)(?!\\w))"
)


def day(iso: str) -> str:
    """`2027-03-12` as `12 Mar 2027`, kept on one line."""
    d = date.fromisoformat(iso)
    return f"{d.day}{GLUE}{_MONTHS[d.month - 1]}{GLUE}{d.year}"


def time(iso: str) -> str:
    """Hours and minutes as they stand in the instant, in the site's own time."""
    return iso[11:16]


def instant(iso: str) -> str:
    """`2027-01-21T10:42:00+00:00` as `21 Jan 2027, 10:42`."""
    return f"{day(iso[:10])},{GLUE}{time(iso)}"


def number(text: str) -> str:
    """A display or decimal text with a true minus; `--`, which shows no number, stays."""
    return _LEADING_MINUS.sub(MINUS, text)


def signed_percent(text: str) -> str:
    """`8.9` as `+8.9 %`."""
    sign = "" if text.startswith("-") or not text.strip("0.") else "+"
    return f"{sign}{number(text)}{NO_BREAK}%"


def amount(value: Amount) -> str:
    return f"{number(value.value)}{NO_BREAK}{value.unit}"


def figures(text: str) -> str:
    """Prose with its days written out, true minus signs, and no line end between a number and its unit."""
    text = _ISO_DAY.sub(lambda found: _day_or_as_it_stands(found[1]), text)
    text = _BETWEEN.sub(f" {MINUS} ", _LEADING_MINUS.sub(MINUS, text))
    return _EQUALS.sub(f"\\1{NO_BREAK}={NO_BREAK}", _UNIT.sub(NO_BREAK, text))


def count(number_of: int, one: str, many: str) -> str:
    return f"{number_of}{GLUE}{one if number_of == 1 else many}"


def listed(parts: list[str], last: str = "and") -> str:
    """`a, b and c`."""
    return f" {last} ".join(filter(None, (", ".join(parts[:-1]), parts[-1]))) if parts else ""


def sentence(text: str) -> str:
    """The text with a capital first letter and a full stop."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")


def _day_or_as_it_stands(iso: str) -> str:
    try:
        return day(iso)
    except ValueError:
        return iso
