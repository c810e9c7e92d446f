"""What the register already holds of what a file names, found by name in a few queries."""

from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from typing import Any, TypeVar

from sites.imports.faults import Faults
from sites.imports.reader import Row
from sites.models import Client, Firm, Part, Site, Structure, System, TestPoint

CHUNK = 500
_Item = TypeVar("_Item")
Key = tuple[str, ...]


@dataclass(slots=True)
class Entry:
    """Something the file names: a row that stands, or one to be made.

    line: where the file first names it; said: which column was said in which line; since: its first day
    """

    row: Any
    line: int
    new: bool
    since: date
    said: dict[str, int] = field(default_factory=dict)


class Level:
    """All entries of one kind, by their names from the client down."""

    def __init__(self, facts: dict[str, str]) -> None:
        self._facts = tuple(facts.items())
        self.entries: dict[Key, Entry] = {}

    def entry(self, key: Key, row: Row, make: Callable[[], Any], faults: Faults) -> Entry:
        """The entry of that name, made where it is new, after holding this row's facts against it."""
        entry = self.entries.get(key)
        if entry is None:
            since = row["since"] or date.max
            entry = self.entries[key] = Entry(make(), row.line, True, since)
        elif row["since"] is not None and row["since"] < entry.since:
            entry.since = row["since"]
        for column, attribute in self._facts:
            value = row[column]
            if value is None:
                if row.bad and column in row.bad:
                    entry.said.setdefault(column, row.line)
            elif getattr(entry.row, attribute) != value:
                self._say(entry, column, attribute, row, faults)
            elif entry.new and column not in entry.said:
                entry.said[column] = row.line
        return entry

    def _say(self, entry: Entry, column: str, attribute: str, row: Row, faults: Faults) -> None:
        if entry.new and column not in entry.said:
            setattr(entry.row, attribute, row[column])
            entry.said[column] = row.line
            return
        who = f"line {entry.said[column]} says" if entry.new else "the register says"
        faults.add(
            row.line,
            column,
            f"This row says {shown(row[column])} of {entry.row.name}, {who} "
            f"{shown(getattr(entry.row, attribute))}. Make them agree, or change the register first.",
        )

    def add(self, key: Key, row: Any) -> None:
        """Something that stands in the register."""
        self.entries[key] = Entry(row, 0, False, date.max)

    def made(self) -> list[Entry]:
        """What is new, in the file's order."""
        return [entry for entry in self.entries.values() if entry.new]


def shown(value: Any) -> str:
    """A value in a sentence."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "nothing" if value is None or value == "" else f"“{value}”"


def chunks(items: Iterable[_Item]) -> Iterator[list[_Item]]:
    """CHUNK at a time: databases limit how many values one question may hold."""
    remaining = iter(items)
    while chunk := list(islice(remaining, CHUNK)):
        yield chunk


def _wanted(rows: Iterable[Row], *columns: str) -> set[Key]:
    return {key for row in rows if None not in (key := tuple(row[column] for column in columns))}


def find_clients(firm: Firm, rows: list[Row], level: Level) -> None:
    """Clients of the firm that the file names."""
    for names in chunks(sorted({key[0] for key in _wanted(rows, "client")})):
        for client in Client.objects.filter(firm=firm, name__in=names):
            level.add((client.name,), client)


def find_sites(firm: Firm, rows: list[Row], level: Level) -> None:
    """Sites of those clients that the file names."""
    wanted = _wanted(rows, "client", "site")
    for names in chunks(sorted({site for _, site in wanted})):
        for site in Site.objects.filter(client__firm=firm, name__in=names).select_related("client"):
            if (key := (site.client.name, site.name)) in wanted:
                level.add(key, site)


def find_structures(rows: list[Row], sites: Level, level: Level) -> None:
    """Structures at those sites that the file names."""
    wanted = _wanted(rows, "client", "site", "structure")
    at = {entry.row.pk: key for key, entry in sites.entries.items()}
    for ids in chunks(at):
        for structure in Structure.objects.filter(site__in=ids):
            if (key := (*at[structure.site_id], structure.name)) in wanted:
                level.add(key, structure)


def find_within(structures: Level, systems: Level, parts: Level, numbers: dict[Hashable, int]) -> None:
    """Systems, parts and numbers of standing points of those structures. numbers: gets line 0 for each."""
    at = {entry.row.pk: key for key, entry in structures.entries.items()}
    for ids in chunks(at):
        for system in System.objects.filter(structure__in=ids):
            systems.add((*at[system.structure_id], system.name), system)
        for part in Part.objects.filter(structure__in=ids).select_related("system"):
            parts.add((*at[part.structure_id], part.name), part)
        points = TestPoint.objects.filter(structure__in=ids, retired_on__isnull=True)
        for structure, number in points.values_list("structure", "number"):
            numbers[(*at[structure], number)] = 0
