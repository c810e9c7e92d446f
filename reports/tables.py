"""The list of issued reports: what each states in short, from its own frozen facts."""

from typing import Any
from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from reports.models import Issue
from sites.templatetags.downlead import day, state

POINTS = "{read} of {asked} points read"


class ReportTable(tables.Table):
    """Records are issues with ``coverage`` (of their facts), ``replaced`` and the structure's place."""

    number = tables.Column("Report", empty_values=())
    structure = tables.Column("Structure", empty_values=())
    issued = tables.Column("Issued", empty_values=())
    coverage = tables.Column("Points", empty_values=())
    outcomes = tables.Column(empty_values=())
    authorised_by = tables.Column("Authorised by")
    file = tables.Column("State", empty_values=())

    class Meta:
        orderable = False
        empty_text = "A report is issued from its visit, once the reviewing engineer has approved it."

    caption = "Issued reports, the latest first"
    empty_head = "No report has been issued yet"

    def render_number(self, record: Issue) -> SafeString:
        return format_html(
            '<a href="{}">Report {}</a><span class="second">issue {}</span>',
            reverse("report", args=[record.pk]), record.number, record.issue,
        )  # fmt: skip

    def render_structure(self, record: Issue) -> SafeString:
        place = record.visit.structure
        return format_html(
            '<a href="{}">{}</a><span class="second">{} › {}</span>',
            reverse("structure", args=[place.pk]), place.name, place.site.client.name, place.site.name,
        )  # fmt: skip

    def render_issued(self, record: Issue) -> str:
        return day(record.issued_at.astimezone(ZoneInfo(record.visit.structure.site.time_zone)).date())

    def render_coverage(self, record: Any) -> SafeString:
        told = record.coverage
        if not told["asked"]:
            return format_html("{}", "none were to be read")
        left_out = [f"{row['count']} {row['word']}" for row in told["not_read"]]
        return format_html("{}{}", POINTS.format(**told), _seconds(left_out))

    def render_outcomes(self, record: Any) -> SafeString:
        counted = record.coverage["outcomes"]
        if not counted:
            return format_html('<span class="aside">{}</span>', "no readings")
        told = ((state(row["word"], f"{row['count']} {row['word']}", "verdict"),) for row in counted)
        return format_html_join("", '<span class="d-block">{}</span>', told)

    def render_file(self, record: Any) -> SafeString:
        if record.replaced:
            return state("replaced", family="report")
        if getattr(record, "file", None) is None:
            return format_html('<span class="aside">{}</span>', "being made")
        return state("issued", family="report")


def _seconds(lines: list[str]) -> SafeString:
    return format_html_join("", '<span class="second">{}</span>', ((line,) for line in lines))
