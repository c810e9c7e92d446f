"""Documents as a list: of each the revision that stands, the latest recorded first."""

from typing import Any

import django_tables2 as tables
from django.db.models import Value
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from sites import filestore
from sites.exports.columns import InFile
from sites.models import Revision
from sites.tables.sorting import Column, Natural
from sites.templatetags.downlead import state, when
from sites.templatetags.figures import file_size


class DocumentTable(tables.Table):
    """Records are newest revisions with ``withdrawn``, their document and its place."""

    title = Column("Document", by=Natural("document__title"), accessor="document__title")
    place = Column(
        "Belongs to",
        by=(Natural("document__site__name"), Natural(Coalesce("document__structure__name", Value("")))),
        empty_values=(),
    )
    revision = Column(by="number", empty_values=())
    dated = Column("Date on it", by="dated")
    recorded = Column("Recorded (UTC)", by="recorded_at", empty_values=())
    standing = Column("State", by="withdrawn", empty_values=())

    row_head = "title"
    caption = "Documents"
    empty_head = "No document is kept here yet"

    class Meta:
        empty_text = "Drawings, design descriptions and earlier reports are added from the page of a site or structure."

    def in_file(self) -> InFile:
        return {
            "title": (("Document", "document__title"), ("Kind", "document__kind")),
            "place": (
                ("Client", "document__site__client__name"),
                ("Site", "document__site__name"),
                ("Structure", "document__structure__name"),
                ("Part or point", lambda row: row.document.narrower),
            ),
            "revision": (("Revision", "number"), ("Mark", "mark"), ("Made by", "author"), ("Words", "words")),
            "recorded": (("Recorded at", "recorded_at"), ("Recorded by", "by__name")),
            "standing": (
                ("State", standing_of),
                ("File", "name"),
                ("Bytes", "size"),
                ("SHA-256", "sha256"),
            ),
        }

    def render_title(self, record: Revision) -> SafeString:
        document = record.document
        return format_html(
            '<a href="{}">{}</a><span class="second">{}</span>',
            reverse("document", args=[document.pk]), document.title, document.get_kind_display(),
        )  # fmt: skip

    def render_place(self, record: Revision) -> SafeString:
        document = record.document
        site, place = document.site, document.structure
        if place is None:
            address, name, second = reverse("site", args=[site.pk]), site.name, site.client.name
        else:
            address, name = reverse("structure", args=[place.pk]), place.name
            second = f"{site.client.name} › {site.name}"
            if document.narrower:
                second = f"{document.narrower}; {second}"
        return format_html('<a href="{}">{}</a><span class="second">{}</span>', address, name, second)

    def render_revision(self, record: Revision) -> SafeString:
        return format_html(
            '{}<span class="second">{}, {}</span>',
            record.mark or record.number, record.get_media_display(), file_size(record.size),
        )  # fmt: skip

    def render_dated(self, record: Revision) -> SafeString | str:
        return when(record.dated) if record.dated else ""

    def render_recorded(self, record: Revision) -> SafeString:
        return format_html(
            '{}<span class="second">{}</span>', when(record.recorded_at.date()), record.by.name
        )

    def render_standing(self, record: Any) -> SafeString:
        return state(standing_of(record), family="document")


def standing_of(record: Any) -> str:
    """The word for a revision ``with_standing``: a withdrawn document has none that stands."""
    if record.withdrawn:
        return "withdrawn"
    return "replaced" if record.replaced else "stands"


class RevisionTable(tables.Table):
    """Records are the revisions of one document ``with_standing``, the latest first."""

    number = tables.Column("Revision", empty_values=())
    dated = tables.Column("Date on it", default="none on it")
    author = tables.Column("Who made it", empty_values=())
    recorded = tables.Column("Recorded (UTC)", empty_values=())
    standing = tables.Column("State", empty_values=())
    file = tables.Column(empty_values=())

    caption = "Revisions of this document, the latest first"

    class Meta:
        orderable = False

    def in_file(self) -> InFile:
        return {
            "number": (("Revision", "number"), ("Mark", "mark")),
            "author": (("Made by", "author"), ("Words", "words")),
            "recorded": (("Recorded at", "recorded_at"), ("Recorded by", "by__name")),
            "standing": (("State", standing_of),),
            "file": (("File", "name"), ("Kind", "media"), ("Bytes", "size"), ("SHA-256", "sha256")),
        }

    def render_number(self, record: Revision) -> SafeString | int:
        if not record.mark:
            return record.number
        return format_html('{}<span class="second">{} of this record</span>', record.mark, record.number)

    def render_dated(self, record: Revision) -> SafeString | str:
        return when(record.dated) if record.dated else ""

    def render_author(self, record: Revision) -> SafeString:
        return format_html('{}<span class="second">{}</span>', record.author or "not said", record.words)

    def render_recorded(self, record: Revision) -> SafeString:
        return format_html('{}<span class="second">{}</span>', when(record.recorded_at), record.by.name)

    def render_standing(self, record: Any) -> SafeString:
        return state(standing_of(record), family="document")

    def render_file(self, record: Revision) -> SafeString:
        fault = filestore.fault_of(record.sha256, record.size)
        found = (
            state(fault, family="document")
            if fault
            else format_html(
                '<a href="{}" download>{}</a>', reverse("document-file", args=[record.pk]), record.name
            )
        )
        return format_html(
            '{}<span class="second">{}, {}; SHA-256 <span class="text-break">{}</span></span>',
            found, record.get_media_display(), file_size(record.size), record.sha256,
        )  # fmt: skip
