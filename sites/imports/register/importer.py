"""A whole register from one file: what is named and stands must agree, what is named and new is made."""

from abc import abstractmethod
from collections.abc import Collection, Hashable
from datetime import date, datetime
from typing import Any

from django.db import models
from django.db.models import F

from sites import bulk, filestore
from sites.actions.register import PART_FACTS, STRUCTURE_FACTS
from sites.imports.engine import Importer
from sites.imports.faults import Faults, refused
from sites.imports.files import text_of
from sites.imports.reader import Row, rows_of
from sites.imports.register import columns, standing
from sites.imports.register.standing import Entry, Level, chunks
from sites.models import (
    Client,
    Firm,
    ImportedFile,
    ImportKind,
    Part,
    PartDetail,
    PartKind,
    Person,
    PointNumber,
    Site,
    Structure,
    StructureDetail,
    System,
    TestPoint,
)
from sites.ordering import natural_key


class RegisterImport(Importer):
    """materials: the names a part's material may have; with none given, any words will do"""

    kind = ImportKind.REGISTER

    def __init__(self, materials: Collection[str] = ()) -> None:
        self.columns = columns.columns(materials)
        self.clients = Level({})
        self.sites = Level(columns.SITE)
        self.structures = Level(columns.STRUCTURE)
        self.systems = Level(columns.SYSTEM)
        self.parts = Level(columns.PART)
        self.points: list[TestPoint] = []
        self._numbers: dict[Hashable, int] = {}
        self._orders: dict[str, str] = {}
        self.at = datetime.min

    @abstractmethod
    def in_use(self, points: models.QuerySet[TestPoint]) -> models.QuerySet[TestPoint]:
        """Of these points, those on which something hangs."""

    def check(self, firm: Firm, rows: list[Row], faults: Faults, *, at: datetime) -> None:
        self.at = at
        standing.find_clients(firm, rows, self.clients)
        standing.find_sites(firm, rows, self.sites)
        standing.find_structures(rows, self.sites, self.structures)
        standing.find_within(self.structures, self.systems, self.parts, self._numbers)
        for row in rows:
            part = self._part(firm, row, faults)
            if part is not None:
                self._point(part, row, faults)
        self._check_complete(faults)

    def write(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        levels: dict[str, tuple[Level, type[models.Model]]] = {
            "clients": (self.clients, Client),
            "sites": (self.sites, Site),
            "structures": (self.structures, Structure),
            "systems": (self.systems, System),
            "parts": (self.parts, Part),
        }
        for level, model in levels.values():
            bulk.insert(model, (entry.row for entry in level.made()))
        self._write_details(at)
        bulk.insert(TestPoint, self.points)
        bulk.insert(
            PointNumber,
            (
                PointNumber(
                    point_id=point.pk,
                    number=point.number,
                    number_order=point.number_order,
                    since=point.since,
                    recorded_at=at,
                )
                for point in self.points
            ),
        )
        counts = {name: len(level.made()) for name, (level, _) in levels.items()}
        return {**counts, "points": len(self.points)}

    def touched_structures(self) -> list[int]:
        """Ids of the structures that a written file named."""
        return [entry.row.pk for entry in self.structures.entries.values()]

    def undo(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        """Retires the points it brought from their first day; what holds them stays, to be used again."""
        brought = self.brought_by(file)
        for ids in chunks(brought):
            used = self.in_use(TestPoint.objects.filter(pk__in=ids)).first()
            if used is not None:
                raise refused(
                    f"Point {used.number} of {used.structure} has entries from a visit, so this import stays. "
                    "Retire single points instead."
                )
        for ids in chunks(brought):
            TestPoint.objects.filter(pk__in=ids).update(retired_on=F("since"))
        return {"points retired": len(brought)}

    def brought_by(self, file: ImportedFile) -> list[int]:
        """Ids of the standing points that a file brought: recorded with it, and named in it."""
        rows = rows_of(text_of(filestore.get(file.sha256)), self.columns, Faults())
        named = {(row["client"], row["site"], row["structure"], row["point"]) for row in rows}
        first = PointNumber.objects.filter(
            recorded_at=file.recorded_at,
            point__recorded_at=file.recorded_at,
            point__retired_on__isnull=True,
            point__structure__site__client__firm=file.firm,
        )
        place = (
            "point__structure__site__client__name",
            "point__structure__site__name",
            "point__structure__name",
        )
        return [point for point, *key in first.values_list("point", *place, "number") if tuple(key) in named]

    @staticmethod
    def structures_of(points: list[int]) -> list[int]:
        """Ids of the structures these points stand at."""
        found: set[int] = set()
        for ids in chunks(points):
            found.update(TestPoint.objects.filter(pk__in=ids).values_list("structure", flat=True))
        return sorted(found)

    def _part(self, firm: Firm, row: Row, faults: Faults) -> tuple[tuple[str, ...], Entry] | None:
        """The structure's key and the part of this row; None where a name could not be read."""
        names = row["client"], row["site"], row["structure"], row["system"], row["part"]
        if None in names:
            return None
        client_name, site_name, structure_name, system_name, part_name = names
        key = names[:3]
        client = self.clients.entry(
            key[:1], row, lambda: Client(firm=firm, name=client_name, recorded_at=self.at), faults
        )
        site = self.sites.entry(
            key[:2], row, lambda: Site(client=client.row, name=site_name, recorded_at=self.at), faults
        )
        structure = self.structures.entry(
            key, row, lambda: Structure(site=site.row, name=structure_name, recorded_at=self.at), faults
        )
        system = self.systems.entry(
            (*key, system_name),
            row,
            lambda: System(structure=structure.row, name=system_name, recorded_at=self.at),
            faults,
        )
        part = self.parts.entry(
            (*key, part_name),
            row,
            lambda: Part(structure=structure.row, system=system.row, name=part_name, recorded_at=self.at),
            faults,
        )
        if part.row.system is not system.row and part.row.system.name != system_name:
            faults.add(
                row.line,
                "system",
                f"{part_name} of {structure_name} belongs to the system “{part.row.system.name}”.",
            )
        return key, part

    def _point(self, part: tuple[tuple[str, ...], Entry], row: Row, faults: Faults) -> None:
        key, entry = part
        number = row["point"]
        if number is None:
            for column in ("quantity", "place"):
                if row[column] is not None and "point" not in row.bad:
                    faults.add(
                        row.line, column, "The row names no point. Give its number, or empty this cell."
                    )
            return
        for column in ("quantity", "place"):
            if row[column] is None and column not in row.bad:
                faults.add(row.line, column, f"Point {number} lacks it. Say what is measured, and where.")
        before = self._numbers.setdefault((*key, number), row.line)
        if before != row.line:
            where = f"line {before} has it already" if before else "the register has it already"
            faults.add(
                row.line,
                "point",
                f"Number {number} is there twice at {key[2]}: {where}. Number each point once.",
            )
            return
        self.points.append(
            TestPoint(
                structure=entry.row.structure,
                part=entry.row,
                quantity=row["quantity"] or "",
                place=row["place"] or "",
                number=number,
                number_order=self._order(number),
                since=row["since"] or date.max,
                recorded_at=self.at,
            )
        )

    def _order(self, number: str) -> str:
        if number not in self._orders:
            self._orders[number] = natural_key(number)
        return self._orders[number]

    def _check_complete(self, faults: Faults) -> None:
        for level, what, needed in (
            (self.sites, "site", ("time_zone",)),
            (self.structures, "structure", ("use", "class")),
            (self.systems, "system", ("system_kind",)),
            (self.parts, "part", ("part_kind",)),
        ):
            for entry in level.made():
                for column in needed:
                    if column not in entry.said:
                        faults.add(
                            entry.line, column, f"The {what} “{entry.row.name}” is new. Fill this cell."
                        )
        for entry in self.sites.made():
            if ("latitude" in entry.said) != ("longitude" in entry.said):
                faults.add(entry.line, "latitude", "A position needs latitude and longitude.")
        for entry in self.parts.made():
            _check_part(entry, faults)

    def _write_details(self, at: datetime) -> None:
        bulk.insert(
            StructureDetail,
            (
                StructureDetail(
                    structure_id=entry.row.pk,
                    since=entry.since,
                    recorded_at=at,
                    **{name: getattr(entry.row, name) for name in STRUCTURE_FACTS},
                )
                for entry in self.structures.made()
            ),
        )
        bulk.insert(
            PartDetail,
            (
                PartDetail(
                    part_id=entry.row.pk,
                    since=entry.since,
                    recorded_at=at,
                    **{name: getattr(entry.row, name) for name in PART_FACTS},
                )
                for entry in self.parts.made()
            ),
        )


def _check_part(entry: Entry, faults: Faults) -> None:
    if entry.row.kind == PartKind.BOND:
        for column in ("from", "to"):
            if column not in entry.said:
                faults.add(entry.line, column, f"{entry.row.name} is a bond. Say what it joins: from and to.")
    if entry.row.test_joint is not None and entry.row.kind != PartKind.DOWN_CONDUCTOR:
        faults.add(
            entry.said["test_joint"], "test_joint", "Only a down-conductor has a test joint. Empty this cell."
        )
