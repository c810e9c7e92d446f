"""What of its documents the page of a site or structure shows: the newest, what is missing, and the way to the rest."""

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet
from django.urls import reverse

from sites import access, expected_documents
from sites.access import may_at
from sites.expected_documents import Expected
from sites.models import (
    Client,
    Document,
    Part,
    Person,
    Revision,
    RevisionQuerySet,
    Site,
    Structure,
    TestPoint,
)

SHOWN, SHOWN_OF_A_VISIT = 5, 50


@dataclass(frozen=True, slots=True)
class Shelf:
    """rows: newest revisions that stand; add: where one is added, "" for whoever may not"""

    rows: list[Revision]
    missing: list[Expected]
    all: str
    add: str
    of: str


def of_client(client: Client, person: Person, *, on: date) -> Shelf:
    """Those of its sites that the person may see. A document is added at its site or structure."""
    rows = Revision.objects.visible_to(person, on=on).filter(document__site__client=client)
    return _shelf(rows, [], f"client={client.pk}", "", client.name)


def of_visit(structure: Structure, documents: QuerySet[Document], add: str) -> Shelf:
    """Those documents of the structure that belong to one visit. add: where one is added"""
    rows = Revision.objects.filter(document__in=documents.values("pk"))
    return _shelf(rows, [], f"structure={structure.pk}", add, structure.name, shown=SHOWN_OF_A_VISIT)


def of_site(site: Site, person: Person, *, on: date) -> Shelf:
    """Those of the whole site and of its structures, in one query. site: with its client"""
    rows = Revision.objects.filter(document__site=site)
    return _shelf(rows, [], f"site={site.pk}", _add(site, person, on), site.name)


def of_structure(structure: Structure, person: Person, *, on: date) -> Shelf:
    """Those of the structure, and what is missing. structure: with its site and client"""
    rows = Revision.objects.filter(document__structure=structure)
    add = _add(structure.site, person, on)
    return _shelf(
        rows,
        expected_documents.missing_of(structure),
        f"structure={structure.pk}",
        f"{add}?structure={structure.pk}" if add else "",
        structure.name,
    )


def of_part(part: Part, person: Person, *, on: date) -> Shelf:
    """Those of the part itself. part: with its structure, site and client"""
    return _of_narrower(Revision.objects.filter(document__part=part), f"part={part.pk}", part, person, on)


def of_point(point: TestPoint, person: Person, *, on: date) -> Shelf:
    """Those of the point itself. point: with its structure, site and client"""
    return _of_narrower(
        Revision.objects.filter(document__point=point), f"point={point.pk}", point, person, on
    )


def _of_narrower(
    rows: RevisionQuerySet, narrowed: str, narrower: Part | TestPoint, person: Person, on: date
) -> Shelf:
    add = _add(narrower.structure.site, person, on)
    return _shelf(rows, [], narrowed, f"{add}?{narrowed}" if add else "", "")


def _add(site: Site, person: Person, on: date) -> str:
    allowed = may_at(person, access.KEEP_DOCUMENTS, site, on=on)
    return reverse("document-add", args=[site.pk]) if allowed else ""


def _shelf(
    rows: object, missing: list[Expected], narrowed: str, add: str, of: str, *, shown: int = SHOWN
) -> Shelf:
    standing = rows.newest().filter(withdrawn=False).select_related("document")  # type: ignore[attr-defined]
    return Shelf(list(standing[:shown]), missing, f"{reverse('documents')}?{narrowed}", add, of)
