"""From CSV text to rows of values: the header checked, every cell read by its column, every fault collected.

Quoted cells follow RFC 4180. The separator (comma, semicolon or tab) is taken from the header line alone,
where the column names say which it is; nothing is guessed from the data.
"""

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sites.imports.cells import CellFault
from sites.imports.faults import Faults, refused

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
LONGEST_CELL = 2000
MOST_ROWS = 150_000
_CACHED = 20_000


@dataclass(frozen=True, slots=True)
class Column:
    """A column of an import.

    read: from the stripped, non-empty cell to its value; raises CellFault
    needed: the header must name it; filled: no row may leave it empty (an empty cell is None otherwise)
    meaning: what to write there, for the page that explains the file
    """

    name: str
    read: Callable[[str], Any]
    needed: bool = False
    filled: bool = False
    meaning: str = ""


@dataclass(slots=True)
class Row:
    """One row: ``row["length"]`` is the value, None for an empty cell or a column that the file lacks.

    line: where it begins, counted from 1; bad: columns with a fault, whose value is None
    """

    line: int
    _values: list[Any]
    _places: dict[str, int]
    bad: frozenset[str] = frozenset()

    def __getitem__(self, column: str) -> Any:
        place = self._places.get(column)
        return None if place is None else self._values[place]


def rows_of(text: str, columns: Sequence[Column], faults: Faults) -> Iterator[Row]:
    """Rows in the file's order. Faults of cells and of shape go to ``faults``; blank lines are skipped.

    Raises: ImportRefused where the header cannot be used
    """
    header_line, names, separator, rest = _header(text, columns)
    by_name = {column.name: column for column in columns}
    cells = _Cells([by_name[name] for name in names], faults)
    records = _records(rest, header_line, len(names), separator, faults)
    for count, (line, record) in enumerate(records, 1):
        if count > MOST_ROWS:
            raise refused(f"The file has more than {MOST_ROWS} rows. Split it and hand in the parts.", line)
        yield cells.row(line, record)


def row_of(told: Mapping[str, str], columns: Sequence[Column], faults: Faults) -> Row:
    """One row typed on a page: the same cells, read and refused the same way. A column left out is empty."""
    record = [told.get(column.name, "") for column in columns]
    return _Cells(list(columns), faults).row(1, record)


def _header(text: str, columns: Sequence[Column]) -> tuple[int, list[str], str, io.StringIO]:
    """The header's line, the file's columns, the separator, and the text after it."""
    source = io.StringIO(text, newline="")
    line_number, header = 0, ""
    while not header.strip(" \t\r\n,;"):
        line_number, header = line_number + 1, source.readline()
        if not header:
            raise refused("The file holds no column names. " + _expected(columns))
    known = {column.name for column in columns}
    splits = {separator: _names(header, separator) for separator in SEPARATORS}
    separator = max(splits, key=lambda one: len(known.intersection(splits[one])))
    _check_header(line_number, splits[separator], columns)
    return line_number, splits[separator], separator, source


def _names(header: str, separator: str) -> list[str]:
    try:
        cells = next(csv.reader([header], delimiter=separator, strict=True), [])
    except csv.Error:
        cells = header.split(separator)
    names = [" ".join(cell.split()).casefold() for cell in cells]
    while names and not names[-1]:
        names.pop()
    return names


def _check_header(line: int, names: list[str], columns: Sequence[Column]) -> None:
    known = [column.name for column in columns]
    faults, strangers = Faults(), list[str]()
    if not set(known).intersection(names):
        raise refused("This line names none of the columns. " + _expected(columns), line)
    for name in dict.fromkeys(names):
        if not name:
            faults.add(line, None, "A column has no name. Name it, or delete it.")
        elif name not in known:
            strangers.append(f"“{name}”")
        elif names.count(name) > 1:
            faults.add(line, None, f"The column “{name}” is there twice. Keep one.")
    if strangers:
        be = "is not a column" if len(strangers) == 1 else "are not columns"
        faults.add(line, None, f"{', '.join(strangers)} {be} of this file. {_expected(columns)}")
    for column in columns:
        if column.needed and column.name not in names:
            faults.add(line, None, f"The column “{column.name}” is missing.")
    faults.refuse()


def _expected(columns: Sequence[Column]) -> str:
    needed = ", ".join(column.name for column in columns if column.needed)
    other = ", ".join(column.name for column in columns if not column.needed)
    return f"Needed: {needed}." + (f" Possible: {other}." if other else "")


def _records(
    source: io.StringIO, before: int, width: int, separator: str, faults: Faults
) -> Iterator[tuple[int, list[str]]]:
    """(line, cells) of each record that has the header's width; the others become faults."""
    reader = csv.reader(source, delimiter=separator, strict=True)
    line, short = before, None
    try:
        for cells in reader:
            line, began = before + reader.line_num, line + 1
            if not "".join(cells).strip():
                continue
            if short is not None:
                faults.add(short[0], None, _wrong_width(short[1], width, separator))
                short = None
            while len(cells) > width and not cells[-1].strip():
                cells.pop()
            if len(cells) == width:
                yield began, cells
            elif len(cells) < width:
                short = began, len(cells)
            else:
                faults.add(began, None, _wrong_width(len(cells), width, separator))
    except csv.Error as fault:
        faults.add(line + 1, None, _broken(str(fault)))
    if short is not None:
        faults.add(
            short[0],
            None,
            f"The last row has {short[1]} cells where the header names {width}: the file may be cut off. "
            "Save it again and hand in the whole file.",
        )


def _wrong_width(cells: int, width: int, separator: str) -> str:
    hint = ""
    if cells > width and separator == ",":
        hint = " Where commas stand inside cells or numbers, separate the cells by semicolons."
    return f"The row has {cells} cells where the header names {width}.{hint}"


def _broken(reason: str) -> str:
    if "unexpected end" in reason:
        return (
            "A quotation mark that opens here is never closed: the file may be cut off. "
            "Save it again and hand in the whole file."
        )
    if "limit" in reason:
        return "A cell that begins here never seems to end. Is a quotation mark left open?"
    return 'A quotation mark inside a cell must be doubled (""), and the cell be quoted as a whole.'


class _Cells:
    """Reads the cells of one file, column by column."""

    def __init__(self, columns: list[Column], faults: Faults) -> None:
        self._faults = faults
        self._places = {column.name: place for place, column in enumerate(columns)}
        # A cell's value hangs on its text alone, and a day's readings say the same few things over and over.
        self._readers: list[tuple[Column, dict[str, Any]]] = [(column, {}) for column in columns]

    def row(self, line: int, record: list[str]) -> Row:
        try:
            values = [known[cell] for cell, (_, known) in zip(record, self._readers, strict=True)]
            return Row(line, values, self._places)
        except KeyError:
            return self._new(line, record)

    def _new(self, line: int, record: list[str]) -> Row:
        row = Row(line, [None] * len(record), self._places)
        for place, (cell, (column, known)) in enumerate(zip(record, self._readers, strict=True)):
            if cell not in known:
                if len(known) >= _CACHED:
                    known.clear()
                try:
                    known[cell] = _value(cell.strip(), column)
                except CellFault as fault:
                    self._faults.add(line, column.name, str(fault))
                    row.bad |= {column.name}
                    continue
            row._values[place] = known[cell]
        return row


def _value(cell: str, column: Column) -> Any:
    if not cell:
        if column.filled:
            raise CellFault("The cell is empty. " + (column.meaning or "Fill it."))
        return None
    if len(cell) > LONGEST_CELL:
        raise CellFault(f"The cell holds more than {LONGEST_CELL} characters. Is a quotation mark left open?")
    return column.read(cell)
