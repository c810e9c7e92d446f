"""Keeping documents: added, replaced by a later revision, withdrawn. The file lies in the store before its row does."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction

from sites import log
from sites.models import Document, DocumentWithdrawal, Part, Person, Revision, Site, Structure, TestPoint
from sites.uploads import Taken


class DocumentRefused(Exception):
    """What the record of documents cannot take, with the sentence for whoever tried."""


@dataclass(frozen=True, slots=True)
class About:
    """What is said of one revision; fields as in ``Revision``."""

    mark: str = ""
    dated: date | None = None
    author: str = ""
    words: str = ""


@transaction.atomic
def add(
    site: Site,
    *,
    structure: Structure | None,
    kind: str,
    title: str,
    file: Taken,
    about: About,
    by: Person,
    at: datetime,
    part: Part | None = None,
    point: TestPoint | None = None,
) -> Document:
    """A document with its first revision.

    Raises: DocumentRefused for another site's structure, another structure's part or point, or a day to come
    """
    if structure is not None and structure.site_id != site.pk:
        raise DocumentRefused("That structure stands at another site. Choose one of this site.")
    for narrower in (part, point):
        if narrower is not None and (structure is None or narrower.structure_id != structure.pk):
            raise DocumentRefused(
                "That part or point belongs to another structure. Add the document from its page."
            )
    document = Document.objects.create(
        site=site, structure=structure, part=part, point=point, kind=kind, title=title.strip(), recorded_at=at
    )
    revision = _keep(document, 1, file, about, by, at)
    facts = {"title": document.title, "kind": kind, **_told(revision)}
    facts |= {name: str(row.identity) for name, row in (("part", part), ("point", point)) if row}
    log.record(site.client.firm, "document added", document, by=by, at=at, facts=facts)
    return document


@transaction.atomic
def revise(document: Document, *, file: Taken, about: About, by: Person, at: datetime) -> Revision:
    """A later revision: from now on it stands. Raises: DocumentRefused for the very same file, or one withdrawn"""
    firm = document.site.client.firm
    log.locked_head(firm)
    last = document.revisions.order_by("-number").first()
    if DocumentWithdrawal.objects.filter(document=document).exists():
        raise DocumentRefused("The document is withdrawn. Add it anew where it is to be used again.")
    if last is not None and last.sha256 == file.sha256:
        raise DocumentRefused(
            "That is the very file that is kept already, byte for byte. Choose the later revision."
        )
    revision = _keep(document, last.number + 1 if last else 1, file, about, by, at)
    log.record(firm, "document revised", document, by=by, at=at, facts=_told(revision))
    return revision


@transaction.atomic
def withdraw(document: Document, *, reason: str, by: Person, at: datetime) -> DocumentWithdrawal:
    """Not to be used any more; it stays readable. Raises: DocumentRefused without a reason, or withdrawn already"""
    if not reason.strip():
        raise DocumentRefused("Say why the document is not to be used any more.")
    firm = document.site.client.firm
    log.locked_head(firm)
    if DocumentWithdrawal.objects.filter(document=document).exists():
        raise DocumentRefused("The document was withdrawn already.")
    row = DocumentWithdrawal.objects.create(document=document, reason=reason.strip(), by=by, recorded_at=at)
    log.record(firm, "document withdrawn", document, by=by, at=at, facts={"reason": row.reason})
    return row


def _keep(document: Document, number: int, file: Taken, about: About, by: Person, at: datetime) -> Revision:
    if about.dated and about.dated > document.site.day_at(at):
        raise DocumentRefused("The day on the document lies in the future. Look at it again.")
    return Revision.objects.create(
        document=document, number=number, mark=about.mark.strip(), dated=about.dated, author=about.author.strip(),
        words=about.words.strip(), name=file.name, media=file.media, sha256=file.sha256, size=file.size, by=by,
        recorded_at=at,
    )  # fmt: skip


def _told(revision: Revision) -> dict[str, Any]:
    return {
        "revision": revision.number,
        "mark": revision.mark,
        "name": revision.name,
        "sha256": revision.sha256,
        "bytes": revision.size,
    }
