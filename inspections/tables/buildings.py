"""The portfolio: a row a building, each cell leading to what it rests on."""

from collections.abc import Collection
from datetime import datetime
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.text import Truncator

from inspections.looking import Looked
from inspections.models import Visit
from inspections.portfolio import Building, address_of, is_urgent
from inspections.rules.defects import State
from inspections.standing_words import Owed, age_words, share_words
from inspections.tables.due import demand_of, linked_day, obligation_state, too_late
from inspections.tables.places import none_required
from sites.exports.columns import InFile
from sites.tables.sorting import Column, Natural
from sites.templatetags.downlead import day, state

MOST_WORDS = 90


class BuildingsTable(tables.Table):
    """Takes buildings from ``portfolio.page_of_buildings``."""

    name = Column(
        by=(Natural("name"), Natural("site__name")), accessor="structure__name", verbose_name="Building"
    )
    next = Column(by=("next_due", Natural("name")), empty_values=(), verbose_name="Next date, and why")
    defects = Column(by=("defect_count", Natural("name")), empty_values=(), verbose_name="Open defects")
    last = Column(by="last_at", empty_values=(), verbose_name="Last visit")
    report = Column(by="reported_at", empty_values=(), verbose_name="Last report")

    row_head = "name"
    caption = "Buildings, those that need something first"

    # Sites where the person who looks may report that something changed.
    reported_at: Collection[int] = ()

    def group_of(self, record: Building) -> str:
        return record.group

    def in_file(self) -> InFile:
        return {
            "name": (
                ("Building", "structure__name"),
                ("Site", "structure__site__name"),
                ("Client", "structure__site__client__name"),
            ),
            "next": (
                ("Next due", "next__row__due"),
                ("State", "next__state"),
                ("Demand", "next__row__demand"),
                ("Whose rule", "next__row__author"),
                ("Planned for", "planned__planned_on"),
            ),
            "defects": (
                ("Open defects", "defects"),
                ("Gravest", "worst__words"),
                ("Urgency", "worst__urgency__word"),
                ("State of the gravest", "worst__state"),
                ("Gravest told as dangerous", "worst__is_danger"),
            ),
            "last": (
                ("Last visit", lambda row: row.last and row.last.day_at(_zone(row))),
                ("Number of last visit", "last__number"),
            ),
            "report": (
                ("Report", "report__number"),
                ("Issue", "report__issue"),
                ("Issued at", "report__issued_at"),
                ("Report withdrawn", "report__withdrawn"),
            ),
        }

    def render_name(self, record: Building) -> SafeString:
        place = record.structure
        return format_html(
            '<a href="{}">{}</a><span class="second">{} · {}</span>{}',
            reverse("structure", args=[place.pk]), place.name, place.site.name, place.site.client.name,
            self._report(record),
        )  # fmt: skip

    def _report(self, record: Building) -> SafeString | str:
        if record.structure.site_id not in self.reported_at:
            return ""
        return format_html(
            '<span class="second d-print-none"><a href="{}">Something changed…'
            '<span class="visually-hidden"> at {}</span></a></span>',
            reverse("report-event", args=[record.structure.pk]), record.structure.name,
        )  # fmt: skip

    def render_next(self, record: Building) -> SafeString:
        if record.next is None:
            if record.stopped:
                stopped = record.stopped[0]
                return format_html(
                    '{}<span class="second"><a href="{}">why</a></span>',
                    obligation_state(stopped),
                    stopped.working,
                )
            if record.none_required:
                return none_required(record.structure.pk)
            return format_html(
                '<b>No obligation recorded</b><span class="second"><a href="{}">{}'
                '<span class="visually-hidden"> at {}</span></a></span>',
                reverse("structure", args=[record.structure.pk]),
                "what may be done",
                record.structure.name,
            )
        owed = record.next
        return format_html(
            '{}<span class="second">{} · {}, {}</span>{}{}',
            obligation_state(owed),
            _demand(owed),
            owed.row.author,
            linked_day(owed),
            _further(record),
            _planned(record),
        )

    def render_defects(self, record: Building) -> SafeString | str:
        worst = record.worst
        if worst is None:
            return "none open" if record.last or record.since_then else "never visited"
        number = record.defects
        gravest = "the gravest " if number > 1 else ""
        found = day_of_moment(worst.found_at, _zone(record))
        if worst.is_danger:
            shown = state("dangerous", f"{number} open, {gravest}told as dangerous", "defect")
        elif worst.state == State.OPEN:
            shown = state(
                "open",
                f"{number} open, {gravest}{worst.urgency.word}" if is_urgent(worst) else f"{number} open",
            )
        else:
            shown = state(worst.state, f"{number}: {gravest}{worst.state}", "defect")
        stand = f"{reverse('defects')}?state=to-act&structure={record.structure.pk}"
        return format_html(
            '<a href="{}" data-rows="{}">{}</a><span class="second"><a href="{}">{}</a>, {}: {}</span>'
            '<span class="second">open for {}</span>',
            stand,
            number,
            shown,
            address_of(worst),
            worst.place,
            worst.urgency.word,
            Truncator(worst.words).chars(MOST_WORDS),
            age_words(found, record.today),
        )  # fmt: skip

    def render_last(self, record: Building) -> SafeString | str:
        if record.last is None:
            return "no visit yet"
        later = ((_visit(record, visit),) for visit in record.since_then)
        return format_html(
            "{}{}", _visit(record, record.last), format_html_join("", '<div class="mt-2">{}</div>', later)
        )

    def render_report(self, record: Building) -> SafeString | str:
        issue = record.report
        if issue is None:
            return "none issued"
        name = f"Report {issue.number}, issue {issue.issue}"
        issued = day(day_of_moment(issue.issued_at, _zone(record)))
        page = reverse("report", args=[issue.pk])
        if issue.withdrawn:
            return format_html(
                '{}<span class="second"><a href="{}">{}</a>, {}: not to be relied on</span>',
                state("withdrawn", "withdrawn", "report"), page, name, issued,
            )  # fmt: skip
        if not issue.has_file:
            return format_html(
                '<a href="{}">{}</a><span class="second">{}, file being made</span>', page, name, issued
            )
        return format_html(
            '<a href="{}">{}</a><span class="second">{} · <a href="{}" download>PDF'
            '<span class="visually-hidden"> of report {}, {}</span></a></span>',
            page, name, issued, reverse("report-file", args=[issue.pk]), issue.number, record.structure.name,
        )  # fmt: skip


def day_of_moment(moment: datetime, zone: ZoneInfo):
    """The civil day of a moment at a site."""
    return moment.astimezone(zone).date()


def _zone(record: Building) -> ZoneInfo:
    return ZoneInfo(record.structure.site.time_zone)


def _demand(owed: Owed) -> SafeString | str:
    left = share_words(owed.row.points, owed.row.parts)
    return f"{owed.row.demand.capitalize()}, {left} left" if left else demand_of(owed.row)


def _further(record: Building) -> SafeString:
    """What else is overdue: each author's breach stands by itself."""
    late = [owed for owed in record.owed if owed.state == "overdue" and owed is not record.next]
    lines = ((f"{one.words}: {one.row.demand}, {one.row.author}", linked_day(one)) for one in late[:3])
    return format_html_join("", '<span class="second">also {}, {}</span>', lines)


def _planned(record: Building) -> SafeString | str:
    visit = record.planned
    if visit is not None:
        return format_html(
            '<span class="second"><a href="{}">visit planned for {}</a>, {}</span>{}',
            reverse("visit", args=[visit.pk]), day(visit.planned_on), visit.get_kind_display(),
            too_late(record.next, visit.planned_on) if record.next else "",
        )  # fmt: skip
    none = "no visit planned" if record.next else ""
    if record.beside is None:
        return format_html('<span class="second">{}</span>', none) if none else ""
    return format_html(
        '<span class="second">{}<a href="{}">{} on {}</a></span>',
        f"{none} for it; " if none else "visit planned: ",
        reverse("visit", args=[record.beside.pk]),
        record.beside.get_kind_display(),
        day(record.beside.planned_on),
    )


def _parts(looked: Looked, page: str) -> SafeString | str:
    """How many parts were seen, leading to what was said of them; below it why the others were not."""
    if not looked.looks:
        return ""
    seen, *others = looked.words.split(", ")
    below = format_html_join("", '<span class="second">{}</span>', ((words,) for words in others))
    shown = format_html('<a href="{}#parts">{}</a>', page, seen)
    return format_html(
        "<div>{}{}</div>", format_html("<b>{}</b>", shown) if looked.is_short else shown, below
    )


def _visit(record: Building, visit: Visit) -> SafeString:
    """How much was read, each figure leading to its points at that visit."""
    covered = record.covered[visit.pk]
    page = reverse("visit", args=[visit.pk])
    read = covered.words.partition(", ")[0]
    first: SafeString | str = read
    if covered.reads:
        first = format_html('<a href="{}#readings">{}</a>', page, read)
    reasons = (
        (f"{page}?{urlencode({'only': reason})}#not-read", number, number, reason)
        for reason, number in covered.reasons
    )
    owed = ((page, covered.blank),) if covered.blank else ()
    return format_html(
        '{}{}{}{}<span class="second"><a href="{}">visit {}</a>, {}, {}</span>',
        format_html("<b>{}</b>", first) if covered.is_short else first,
        format_html_join("", '<span class="second"><a href="{}" data-rows="{}">{} {}</a></span>', reasons),
        format_html_join("", '<span class="second"><a href="{}#owed">{} owed</a></span>', owed),
        _parts(record.looked[visit.pk], page),
        page, visit.number, visit.get_kind_display(), day(visit.day_at(_zone(record))),
    )  # fmt: skip
