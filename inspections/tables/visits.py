"""The list of visits, and what was read at one."""

from datetime import date
from typing import Any

import django_tables2 as tables
from django.db.models import FloatField, OuterRef, Subquery
from django.db.models.functions import Cast
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.models import NoReading, Verdict, Visit, VisitPerson, VisitState
from inspections.tables import figures
from sites.exports.columns import InFile
from sites.models import TestPoint
from sites.tables.paged import paginate
from sites.tables.sorting import Column, Natural, by_rank
from sites.templatetags.downlead import state, when

RIGHT = {"th": {"class": "n"}, "td": {"class": "n"}}


def first_inspector() -> Subquery:
    """The name that stands first among those who go on a visit."""
    named = VisitPerson.objects.filter(visit=OuterRef("pk")).annotate(order=Natural("person__name"))
    return Subquery(named.order_by("order", "pk").values("order")[:1])


class VisitTable(tables.Table):
    number = Column("Visit", by="number")
    structure = Column(by=(Natural("structure__name"), Natural("structure__site__name"), "planned_on"))
    kind = Column(by=("kind", "planned_on"))
    planned_on = Column("Planned for", by="planned_on")
    on_site = Column("On site", by="on_site_from", accessor="on_site_from", empty_values=())
    inspectors = Column("Inspectors", by=lambda _: (first_inspector(), "planned_on"), empty_values=())
    state = Column(by=(by_rank("state", VisitState.values), "planned_on"))

    class Meta:
        empty_text = "Take a filter away to see others. A planner plans a visit from its structure’s page."

    caption = "Visits"
    empty_head = "No visits here"

    def in_file(self) -> InFile:
        return {
            "structure": (
                ("Structure", "structure__name"),
                ("Site", "structure__site__name"),
                ("Client", "structure__site__client__name"),
            ),
            "kind": (("Kind", "kind"), ("Purpose", "purpose")),
            "planned_on": (("Planned for", "planned_on"),),
            "number": (("Visit", "number"),),
            "on_site": (
                ("On site on", _day_on_site),
                ("On site from", "on_site_from"),
                ("On site until", "on_site_until"),
            ),
        }

    def render_number(self, record: Visit) -> SafeString:
        return format_html('<a href="{}">Visit {}</a>', reverse("visit", args=[record.pk]), record.number)

    def render_structure(self, record: Visit) -> SafeString:
        site = record.structure.site
        return format_html(
            '<a href="{}">{}</a><span class="second">{} › {}</span>',
            reverse("structure", args=[record.structure_id]), record.structure.name, site.client.name, site.name,
        )  # fmt: skip

    def render_kind(self, record: Visit) -> str:
        return record.get_kind_display()

    def render_planned_on(self, record: Visit) -> SafeString:
        return when(record.planned_on)

    def render_on_site(self, record: Visit) -> SafeString | str:
        began = _day_on_site(record)
        if began:
            return when(began)
        return "never begun" if record.state == VisitState.CANCELLED else "not yet"

    def render_inspectors(self, record: Visit) -> str:
        return ", ".join(row.person.name for row in record.inspectors.all()) or "nobody yet"


def _day_on_site(visit: Visit) -> date | None:
    """The day at the site on which the visit began."""
    began = visit.on_site_from
    return visit.structure.site.day_at(began) if began else None


BY_OUTCOME = by_rank("outcome", ("above limit", "cannot be judged", "for information", "within limit"))


class ReadingTable(tables.Table):
    """Readings of one visit with what they mean; records are verdicts with their reading and point."""

    point = Column(by="reading__point__number_order", empty_values=())
    displayed = Column(by="reading__value_order", empty_values=(), attrs=RIGHT)
    method = Column(by=("reading__method", "reading__point__number_order"), empty_values=())
    corrected = Column(by="corrected_order", empty_values=(), attrs=RIGHT)
    limit = Column(by="limit__limit_order", empty_values=(), attrs=RIGHT)
    outcome = Column("Verdict", by=(BY_OUTCOME, "reading__point__number_order"), empty_values=())
    change = Column("Since last", by=Cast("change_percent", FloatField()), empty_values=())
    working = Column(empty_values=())

    class Meta:
        empty_text = "No point of this visit has been read."

    caption = "Readings of this visit, in the order of the points"
    empty_head = "Nothing read yet"

    def in_file(self) -> InFile:
        return {
            "point": (("Point", "reading__point__number"), ("Place", "reading__point__place")),
            "displayed": (
                ("Displayed", lambda verdict: figures.displayed_number(verdict.reading)),
                ("As displayed", "reading__text"),
                ("Unit", "reading__unit"),
                ("Reading [Ω]", "reading__value_ohm"),
            ),
            "method": (("Method", "reading__method"), ("Current [A]", "reading__current_a")),
            "corrected": (("Corrected [Ω]", "corrected_ohm"), ("± U [Ω]", "uncertainty_ohm")),
            "limit": (
                ("Limit [Ω]", "limit__limit_ohm"),
                ("Limit at [°C]", "limit__reference_temperature_c"),
            ),
            "outcome": (("Verdict", "outcome"), ("Reason", "reason"), ("Asks", "questions")),
            "change": (("Since last", "change"), ("Since last [%]", "change_percent")),
            "working": (("Read at", "reading__at"),),
        }

    def render_point(self, record: Verdict) -> SafeString:
        point = record.reading.point
        return format_html(
            '<a href="{}">{}</a><span class="second">{}</span>',
            reverse("point", args=[point.pk]), point.number, point.place,
        )  # fmt: skip

    def render_displayed(self, record: Verdict) -> SafeString:
        below = [line for line in record.reading.repeats.split("\n") if line]
        lines = [f"then {', '.join(below)}"] if below else []
        return format_html(
            "{}{}",
            figures.displayed(record.reading),
            figures.seconds(lines + figures.replaced(record.reading)),
        )

    def render_method(self, record: Verdict) -> SafeString:
        return figures.method(record.reading)

    def render_corrected(self, record: Verdict) -> SafeString:
        return figures.corrected(record)

    def render_limit(self, record: Verdict) -> SafeString:
        return figures.limit_of(record.limit, record.electrodes)

    def render_outcome(self, record: Verdict) -> SafeString:
        return format_html("{}{}", figures.outcome(record), figures.questions(record))

    def render_change(self, record: Verdict) -> SafeString:
        return figures.change(record)

    def render_working(self, record: Verdict) -> SafeString:
        return format_html(
            '<a href="{}">Working<span class="visually-hidden"> of point {}</span></a>',
            reverse("reading", args=[record.pk]), record.reading.point.number,
        )  # fmt: skip


class NotReadTable(tables.Table):
    """Points of a visit that have a reason instead of a reading."""

    point = Column(by="point__number_order", empty_values=())
    reason = Column(by=("reason", "point__number_order"))
    words = Column("What stood in the way", empty_values=())

    caption = "Points not read, with their reasons"
    empty_head = "No point was left out"

    def in_file(self) -> InFile:
        return {
            "point": (("Point", "point__number"), ("Place", "point__place")),
            "reason": (("Not read because", "reason"),),
            "words": (("What stood in the way", "words"),),
        }

    def render_point(self, record: NoReading) -> SafeString:
        return point_link(record.point)

    def render_reason(self, record: NoReading) -> SafeString:
        return state(record.reason, family="not read")

    def render_words(self, record: NoReading) -> str:
        return record.words or "no words were given"


def point_link(point: TestPoint) -> SafeString:
    """A point's number, leading to its history, and its place."""
    return format_html(
        '<a href="{}">{}</a><span class="second">{}</span>',
        reverse("point", args=[point.pk]),
        point.number,
        point.place,
    )


def paged(table: tables.Table, request: Any, per_page: int) -> tables.Table:
    """The table, counted, at the page the address asks for."""
    paginate(table, request, per_page=per_page, counted=True)
    return table


class RouteTable(tables.Table):
    """The points of a visit in the order of the route; records are ``inspections.route.RouteRow``."""

    point = tables.Column(empty_values=())
    state = tables.Column(empty_values=())

    class Meta:
        orderable = False
        row_attrs = {"class": lambda record: "here" if record.here else None}

    caption = "Points of this visit in the order of the route"

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.visit = visit

    def render_point(self, record: Any) -> SafeString:
        place = format_html('<span class="second">{}</span>', record.point.place)
        if record.here:
            return format_html('<b aria-current="step">{}</b>{}', record.point.number, place)
        link = reverse("visit-point", args=[self.visit.pk, record.point.pk])
        return format_html('<a href="{}">{}</a>{}', link, record.point.number, place)

    def render_state(self, record: Any) -> SafeString:
        if record.outcome:
            working = reverse("reading", args=[record.reading])
            return format_html('<a href="{}">{}</a>', working, state(record.outcome, family="verdict"))
        if record.reason:
            return state(record.reason)
        return format_html('<span class="aside">{}</span>', "open")
