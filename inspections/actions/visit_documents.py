"""Documents of a visit: photographs taken there, papers handed over there."""

from datetime import datetime

from django.db import transaction

from inspections.models import Visit, VisitDocument, VisitState
from sites import log
from sites.actions import documents
from sites.actions.documents import About, DocumentRefused
from sites.models import Document, Person
from sites.uploads import Taken


@transaction.atomic
def add(
    visit: Visit, *, kind: str, title: str, file: Taken, about: About, by: Person, at: datetime
) -> Document:
    """A document of the visit's structure that belongs to the visit, once it has begun; also after its report.

    Raises: DocumentRefused before it has begun or where it was cancelled, and what ``documents.add`` refuses
    """
    with_place = Visit.objects.select_related("structure__site__client__firm")
    visit = with_place.select_for_update(of=("self",), no_key=True).get(pk=visit.pk)
    if visit.state in (VisitState.PLANNED, VisitState.CANCELLED):
        raise DocumentRefused(
            f"Visit {visit.number} is {visit.state}: nothing was seen there. Add the document to the structure."
        )
    place = visit.structure
    document = documents.add(
        place.site, structure=place, kind=kind, title=title, file=file, about=about, by=by, at=at
    )
    VisitDocument.objects.create(visit=visit, document=document, by=by, recorded_at=at)
    facts = {"visit": visit.number, "identity": str(visit.identity)}
    log.record(place.site.client.firm, "document of a visit", document, by=by, at=at, facts=facts)
    return document
