"""A list as a workbook (Office Open XML): written row by row, so that its length needs no memory."""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from itertools import chain, count, islice
from typing import IO

from openpyxl import Workbook
from openpyxl.cell import Cell as BookCell
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from sites.exports.cells import Cell, printable

CONTENT_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
ROWS_A_SHEET = 1_048_576
LONGEST_TEXT = 32_767
CUT = " … (cut here: longer than a cell holds)"
# A workbook counts its days from 1900 and takes that year for a leap year: earlier days are written out.
FIRST_DAY = date(1900, 3, 1)
MOST_DECIMALS = 10
DAY = "d mmm yyyy"
INSTANT = 'yyyy-mm-dd hh:mm:ss "UTC"'
WIDEST, NARROWEST = 40, 12


def write(
    to: IO[bytes],
    title: str,
    heads: Sequence[str],
    rows: Iterable[Iterable[Cell]],
    about: Sequence[tuple[str, str]],
) -> None:
    """The list on sheets of at most a million rows, each under its heads; last, a sheet about the list.

    about: (what, words) lines, such as the filters that were set
    """
    book = Workbook(write_only=True)
    left = iter(rows)
    for number in count(1):
        first = next(left, None)
        if first is None and number > 1:
            break
        sheet = book.create_sheet(_title(title if number == 1 else f"{title} {number}"))
        sheet.freeze_panes = "A2"
        for place, head in enumerate(heads, start=1):
            width = min(max(len(head) + 2, NARROWEST), WIDEST)
            sheet.column_dimensions[get_column_letter(place)].width = width
        sheet.append([_head(sheet, head) for head in heads])
        if first is not None:
            for row in chain([first], islice(left, ROWS_A_SHEET - 2)):
                sheet.append([_cell(sheet, value) for value in row])
    sheet = book.create_sheet("About this list")
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 20, 80
    for what, words in about:
        sheet.append([_head(sheet, what), _cell(sheet, words)])
    book.save(to)


def _title(text: str) -> str:
    """A sheet's name: at most 31 characters, and none of those that would name a place in a workbook."""
    return (
        "".join(" " if letter in "[]:*?/\\'" else letter for letter in printable(text))[:31].strip() or "List"
    )


def _head(sheet: object, words: str) -> BookCell:
    cell = _text(sheet, words)
    cell.font = Font(bold=True)
    return cell


def _cell(sheet: object, value: Cell) -> BookCell | None:
    if value is None:
        return None
    if isinstance(value, str):
        return _text(sheet, value)
    if isinstance(value, date) and not isinstance(value, datetime) and value < FIRST_DAY:
        return _text(sheet, value.isoformat())
    if isinstance(value, datetime):
        value = value.astimezone(UTC).replace(tzinfo=None, microsecond=0)
    cell = WriteOnlyCell(sheet, value)
    if isinstance(value, datetime):
        cell.number_format = INSTANT
    elif isinstance(value, date):
        cell.number_format = DAY
    elif isinstance(value, Decimal):
        cell.number_format = _format(value)
    return cell


def _format(number: Decimal) -> str:
    """As many decimals as were written, so that 5.10 is not shown as 5.1."""
    exponent = number.as_tuple().exponent
    decimals = -exponent if isinstance(exponent, int) else 0
    return "General" if not 0 < decimals <= MOST_DECIMALS else f"0.{'0' * decimals}"


def _text(sheet: object, words: str) -> BookCell:
    """Always text: neither a formula nor an error, whatever it begins with."""
    words = printable(words)
    if len(words) > LONGEST_TEXT:
        words = words[: LONGEST_TEXT - len(CUT)] + CUT
    cell = WriteOnlyCell(sheet, words)
    cell.data_type = "s"
    return cell
