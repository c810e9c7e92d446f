"""Figures as print has them: the true minus, the no-break space before a unit, sizes of files."""

import re
from typing import Any

MINUS = "\N{MINUS SIGN}"
NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"
_HYPHEN_AS_MINUS = re.compile(r"(?<![\w.,-])-(?=[\d.,])")


def true_minus(value: Any) -> str:
    """The text with each hyphen that is the sign of a figure turned into a minus; ``10-12`` stays."""
    return _HYPHEN_AS_MINUS.sub(MINUS, str(value))


def with_unit(value: Any, unit: str) -> str:
    """Figure and unit, joined so that no line ends between them."""
    return f"{true_minus(value)}{NO_BREAK_SPACE}{unit}"


def file_size(octets: int) -> str:
    """A file's size in decimal units: ``982 bytes``, ``14 kB``, ``1.2 MB``. One octet is one byte.

    Raises: ValueError below zero
    """
    if octets < 0:
        raise ValueError("A file cannot have less than no bytes.")
    if octets < 1000:
        return with_unit(octets, "byte" if octets == 1 else "bytes")
    size, units = octets / 1000, ["kB", "MB", "GB", "TB"]
    while size >= 999.5 and len(units) > 1:
        size, units = size / 1000, units[1:]
    return with_unit(f"{size:.1f}" if size < 9.95 else f"{size:.0f}", units[0])
