"""A list as CSV (RFC 4180): UTF-8 with its mark, every cell in quotation marks, decimal point, days as ISO 8601."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal

from sites.exports.cells import Cell, guarded, printable

CONTENT_TYPE = "text/csv; charset=utf-8"
# Without it a spreadsheet takes the file for an 8-bit text and spoils Ω.
BYTE_ORDER_MARK = "\ufeff"


class _Lines:
    """What csv writes to: it hands each line back."""

    def write(self, line: str) -> str:
        return line


def lines(heads: Sequence[str], rows: Iterable[Iterable[Cell]]) -> Iterator[bytes]:
    """The file, a line at a time; with every cell quoted, no semicolon inside one can begin another."""
    writer = csv.writer(_Lines(), quoting=csv.QUOTE_ALL)
    yield f"{BYTE_ORDER_MARK}{writer.writerow([_text(head) for head in heads])}".encode()
    for row in rows:
        yield writer.writerow([_text(cell) for cell in row]).encode()


def _text(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, Decimal):
        return format(cell, "f")
    if isinstance(cell, datetime):
        return cell.isoformat(timespec="seconds")
    if isinstance(cell, date):
        return cell.isoformat()
    return guarded(printable(cell)) if isinstance(cell, str) else str(cell)
