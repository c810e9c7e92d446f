"""What the columns of a table become in a file.

A table may say so itself with ``in_file``: for a column of the page several columns of a file, or none.

    def in_file(self) -> InFile:
        return {
            "structure": (("Structure", "structure__name"), ("Site", "structure__site__name")),
            "working": (),
        }

Each pair is a head and either a path from the record, as the columns of a table write it, or a function of the record.
A column that is not named is read from its cell: right-aligned ones (class ``n``) give a number, its unit and a note.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import django_tables2 as tables
from django.db.models import Model
from django_tables2.rows import BoundRow
from django_tables2.utils import Accessor

from sites.exports.cells import Cell, Drawn, drawn, typed

InFile = Mapping[str, Sequence[tuple[str, str | Callable[[Any], Any]]]]


@dataclass(frozen=True, slots=True)
class FileColumn:
    """head: the words above it; value: from a row of the table to its cell"""

    head: str
    value: Callable[[BoundRow], Cell]


def columns_of(table: tables.Table) -> list[FileColumn]:
    """The columns of the file, in the order of the table's own."""
    said: InFile = table.in_file() if hasattr(table, "in_file") else {}
    unknown = set(said) - set(table.columns.names())
    if unknown:
        raise LookupError(f"{type(table).__name__} has no column {', '.join(sorted(unknown))}.")
    found: list[FileColumn] = []
    for column in table.columns:
        if column.name in said:
            found += [FileColumn(head, _said(value)) for head, value in said[column.name]]
        elif hasattr(table, f"render_{column.name}"):
            found += _read_from_cell(column)
        else:
            found.append(FileColumn(str(column.header), _plain(column)))
    return found


def cells_of(columns: Iterable[FileColumn], table: tables.Table, record: Any) -> list[Cell]:
    """One row of the file."""
    row = BoundRow(record, table)
    return [column.value(row) for column in columns]


def _said(value: str | Callable[[Any], Any]) -> Callable[[BoundRow], Cell]:
    if callable(value):
        return lambda row: typed(value(row.record))
    path = Accessor(value)
    return lambda row: typed(_displayed(path, row.record))


def _displayed(path: Accessor, record: Any) -> Any:
    """What stands at the end of the path; of a choice, the words for it. None where the path ends early."""
    holder, name = path.penultimate(record, quiet=True)
    words = getattr(holder, f"get_{name}_display", None) if isinstance(holder, Model) else None
    return words() if words else path.resolve(record, quiet=True)


def _plain(column: Any) -> Callable[[BoundRow], Cell]:
    path = Accessor(column.accessor)
    return lambda row: typed(_displayed(path, row.record))


def _read_from_cell(column: Any) -> list[FileColumn]:
    name, head = column.name, str(column.header)

    def cell(row: BoundRow) -> Drawn:
        return drawn(row.get_cell(name))

    if "n" not in str(column.attrs["td"].get("class", "")).split():
        return [FileColumn(head, lambda row: cell(row).whole)]
    return [
        FileColumn(head, lambda row: cell(row).value),
        FileColumn(f"{head}, unit", lambda row: cell(row).unit or None),
        FileColumn(f"{head}, note", lambda row: "; ".join(cell(row).besides) or None),
    ]
