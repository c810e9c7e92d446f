"""Tables of audit samples: those drawn, the lines of one, and what it was drawn from."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inspections.audit_sample import VISITS
from inspections.models import Visit
from sites.exports.columns import InFile
from sites.models import LogEntry, TestPoint
from sites.tables.sorting import Column, Natural
from sites.templatetags.downlead import day, when

NOT_SEEN = "no longer within what you may see"


@dataclass
class Drawn:
    """A drawing as the log keeps it."""

    entry: LogEntry

    @cached_property
    def told(self) -> dict[str, Any]:
        return json.loads(self.entry.payload)["facts"]


class SamplesTable(tables.Table):
    """Takes ``Drawn``."""

    at = Column("Drawn (UTC)", by="number", empty_values=())
    by = Column("By", by=(Natural("person__name"), "number"), empty_values=())
    # What was drawn stands in the text of the log's entry, which no database sorts.
    what = Column("What", empty_values=())
    seed = Column("Seed", empty_values=())

    caption = "Samples drawn, the latest first"

    def in_file(self) -> InFile:
        return {
            "at": (("Entry of the log", "entry__number"), ("Drawn at", "entry__recorded_at")),
            "what": (
                ("Drawn, number", lambda drawn: len(drawn.told["drawn"])),
                ("Out of, number", lambda drawn: drawn.told["population"]),
                ("What", lambda drawn: drawn.told["of"]),
            ),
        }

    def render_at(self, record: Drawn) -> SafeString:
        return format_html(
            '<a href="{}">{}</a>',
            reverse("audit-sample-drawn", args=[record.entry.pk]),
            when(record.entry.recorded_at),
        )

    def render_by(self, record: Drawn) -> str:
        return record.entry.person.name if record.entry.person else "the program itself"

    def render_what(self, record: Drawn) -> str:
        told = record.told
        return f"{len(told['drawn'])} of {told['population']} {told['of']}"

    def render_seed(self, record: Drawn) -> SafeString:
        return format_html('<code class="text-break">{}</code>', record.told["seed"])


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a sample. thing: None where the person may not see it any more"""

    place: int
    identity: str
    hash: str
    thing: Visit | TestPoint | None


class _OfLines(tables.Table):
    """Takes ``Line``."""

    place = Column("Line", attrs={"td": {"class": "n"}, "th": {"class": "n"}})
    thing = Column("Visit or point", empty_values=())
    where = Column("Where", empty_values=())

    row_head = "thing"

    def in_file(self) -> InFile:
        return {
            "thing": (("Visit or point", "thing__number"), ("Kind", lambda line: _kind(line.thing))),
            "where": (
                ("Structure", "thing__structure__name"),
                ("Site", "thing__structure__site__name"),
                ("Client", "thing__structure__site__client__name"),
            ),
        }

    def render_thing(self, record: Line) -> SafeString:
        thing = record.thing
        if thing is None:
            return format_html('<span class="aside">{}</span>', NOT_SEEN)
        if isinstance(thing, Visit):
            return format_html(
                '<a href="{}">Visit {}</a><span class="second">{}, {}</span>',
                reverse("visit", args=[thing.pk]), thing.number, thing.get_kind_display(), _ended(thing),
            )  # fmt: skip
        return format_html(
            '<a href="{}">Point {}</a><span class="second">{}, {}</span>',
            reverse("point", args=[thing.pk]), thing.number, thing.get_quantity_display(), thing.place,
        )  # fmt: skip

    def render_where(self, record: Line) -> SafeString | str:
        if record.thing is None:
            return "not shown"
        structure = record.thing.structure
        return format_html(
            '<a href="{}">{}</a><span class="second">{} › {}</span>',
            reverse("structure", args=[structure.pk]), structure.name, structure.site.client.name,
            structure.site.name,
        )  # fmt: skip


class LinesTable(_OfLines):
    """The sample with its evidence."""

    evidence = Column("Evidence", empty_values=())
    hash = Column("Hash that decided", empty_values=())

    caption = "The sample, the lowest hash first"

    def in_file(self) -> InFile:
        return {
            **super().in_file(),
            "evidence": (),
            "hash": (("Identity", "identity"), ("Hash that decided", "hash")),
        }

    def render_evidence(self, record: Line) -> SafeString | str:
        thing = record.thing
        if thing is None:
            return "not shown"
        if isinstance(thing, Visit):
            issues = thing.issues.all()
            told = [
                (reverse("report", args=[one.pk]), f"report {one.number}, issue {one.issue}")
                for one in issues
            ]
            return _links(told) or "no report issued"
        latest = getattr(thing, "latest_reading", None)
        return (
            _links([(reverse("reading", args=[latest]), "last reading with its working")] if latest else [])
            or "not read yet"
        )

    def render_hash(self, record: Line) -> SafeString:
        return format_html("<code>{}…</code>", record.hash[:16])


class PopulationTable(_OfLines):
    """Everything a sample is drawn from, and which of it was drawn. drawn: the sample's identities"""

    line = Column("In the sample", empty_values=())
    hash = Column("Hash and identity", empty_values=())

    caption = "What it is drawn from, in the order of the identities"

    def __init__(self, *args: Any, drawn: Sequence[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.drawn = {identity: number for number, identity in enumerate(drawn, start=1)}

    def in_file(self) -> InFile:
        return {
            **super().in_file(),
            "line": (("Line of the sample", lambda line: self.drawn.get(line.identity)),),
            "hash": (("Identity", "identity"), ("SHA-256 of seed:identity", "hash")),
        }

    def render_line(self, record: Line) -> SafeString | str:
        number = self.drawn.get(record.identity)
        return format_html("<b>line {}</b>", number) if number else "not drawn"

    def render_hash(self, record: Line) -> SafeString:
        return format_html(
            '<code>{}…</code><span class="second"><code class="text-break">{}</code></span>',
            record.hash[:16], record.identity,
        )  # fmt: skip


def kind_words(of: str, kind: str) -> str:
    return kind or ("every kind of visit" if of == VISITS else "every kind of point")


def _links(told: list[tuple[str, str]]) -> SafeString:
    return format_html_join("", '<a class="d-block" href="{}">{}</a>', told)


def _kind(thing: Visit | TestPoint | None) -> str | None:
    if thing is None:
        return None
    return thing.get_kind_display() if isinstance(thing, Visit) else thing.get_quantity_display()


def _ended(visit: Visit) -> str:
    return day(visit.day_at(ZoneInfo(visit.structure.site.time_zone)))
