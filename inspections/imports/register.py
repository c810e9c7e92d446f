"""The register's file, with what inspections add: known materials, due dates, and points that readings hang on."""

from datetime import datetime
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet

from inspections.actions import due
from inspections.materials import material_names
from inspections.models import NoReading, Reading, VisitPoint
from sites.imports.register import RegisterImport
from sites.models import ImportedFile, Person, TestPoint


class Register(RegisterImport):
    """A whole register: see ``sites.imports.register.columns``."""

    def __init__(self) -> None:
        super().__init__(material_names())

    def in_use(self, points: QuerySet[TestPoint]) -> QuerySet[TestPoint]:
        here = OuterRef("pk")
        return points.filter(
            Exists(Reading.objects.filter(point=here))
            | Exists(NoReading.objects.filter(point=here))
            | Exists(VisitPoint.objects.filter(point=here))
        )

    def write(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        created = super().write(file, by=by, at=at)
        due.refresh(self.touched_structures(), at=at)
        return created

    def undo(self, file: ImportedFile, *, by: Person, at: datetime) -> dict[str, Any]:
        points = self.brought_by(file)
        undone = super().undo(file, by=by, at=at)
        due.refresh(self.structures_of(points), at=at)
        return undone
