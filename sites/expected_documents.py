"""Documents that a structure should have and the record lacks; what is expected is data, with its source."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from django.db.models import Q

from sites.models import Document, DocumentKind, ProtectionClass, Structure

FILE = Path(__file__).resolve().parent.parent / "fixtures" / "expected_documents.csv"
# Whom a row of the file may ask, in its own words.
ASKED_OF = {
    "structures with a protection class": lambda place: place.protection_class != ProtectionClass.NONE,
}


@dataclass(frozen=True, slots=True)
class Expected:
    """kind: of document; why, source and status: who asks for it, where, and how well that is known"""

    kind: DocumentKind
    asked_of: str
    why: str
    source: str
    status: str


@cache
def expected() -> tuple[Expected, ...]:
    """The file's rows. Raises: KeyError or ValueError where it names an unknown group or kind"""
    with FILE.open(encoding="utf-8", newline="") as file:
        rows = [
            Expected(DocumentKind(row["kind"]), row["asked of"], row["why"], row["source"], row["status"])
            for row in csv.DictReader(file)
        ]
    for row in rows:
        ASKED_OF[row.asked_of]
    return tuple(rows)


def missing_of(structure: Structure) -> list[Expected]:
    """What is expected of this structure and stands in no document of it or of its whole site."""
    asked = [row for row in expected() if ASKED_OF[row.asked_of](structure)]
    if not asked:
        return []
    here = Document.objects.filter(site=structure.site_id, withdrawal__isnull=True)
    here = here.filter(Q(structure__isnull=True) | Q(structure=structure))
    kinds = set(here.order_by().values_list("kind", flat=True).distinct())
    return [row for row in asked if row.kind not in kinds]
