"""The list of issued reports: what each states in short, from its own frozen facts."""

from datetime import date
from typing import Any

import django_tables2 as tables
from django.db.models import Case, IntegerField, Value, When
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from reports.models import Issue
from sites.exports.columns import InFile
from sites.tables.sorting import Column, Natural
from sites.templatetags.downlead import state, when

BEING_MADE = "being made"
POINTS = "{read} of {asked} points read"


# What still has to be done first; then what holds, then what no longer does.
BY_STATE = Case(
    When(replaced=True, then=Value(3)),
    When(withdrawn=True, then=Value(2)),
    When(file__isnull=True, then=Value(0)),
    default=Value(1),
    output_field=IntegerField(),
)


class ReportTable(tables.Table):
    """Records are issues with ``coverage`` (of their facts), ``with_life`` and the structure's place."""

    number = Column("Report", by=("number", "issue"), empty_values=())
    structure = Column(
        "Structure",
        by=(Natural("visit__structure__name"), Natural("visit__structure__site__name"), "issued_at"),
        empty_values=(),
    )
    issued = Column("Issued", by="issued_at", empty_values=())
    # Counts stand in the text of each report's facts, which no database sorts.
    coverage = Column("Points", empty_values=())
    outcomes = Column(empty_values=())
    authorised_by = Column("Authorised by", by=(Natural("authorised_by__name"), "issued_at"))
    file = Column("State", by=(BY_STATE, "issued_at"), empty_values=())

    class Meta:
        empty_text = "A report is issued from its visit, once the reviewing engineer has approved it."

    caption = "Issued reports, the latest first"
    empty_head = "No report has been issued yet"

    def in_file(self) -> InFile:
        return {
            "number": (("Report", "number"), ("Issue", "issue")),
            "structure": (
                ("Structure", "visit__structure__name"),
                ("Site", "visit__structure__site__name"),
                ("Client", "visit__structure__site__client__name"),
            ),
            "issued": (("Issued on", _day_issued), ("Issued at", "issued_at"), ("Visit", "visit__number")),
            "coverage": (
                ("Points asked", lambda issue: issue.coverage["asked"]),
                ("Points read", lambda issue: issue.coverage["read"]),
                ("Not read", lambda issue: _counts(issue.coverage["not_read"])),
            ),
            "outcomes": (("Outcomes", lambda issue: _counts(issue.coverage["outcomes"])),),
            "file": (("State", _state), ("Fingerprint of the facts (SHA-256)", "facts_sha256")),
        }

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

    def render_issued(self, record: Issue) -> SafeString:
        return when(_day_issued(record))

    def render_coverage(self, record: Any) -> SafeString:
        told = record.coverage
        if not told["asked"]:
            return format_html("{}", "none were to be read")
        left_out = [f"{row['count']} {row['word']}" for row in told["not_read"]]
        page = reverse("report", args=[record.pk])
        lines = ((f"{page}#not-inspected", words) for words in left_out)
        return format_html(
            '<a href="{}#readings">{}</a>{}', page, POINTS.format(**told),
            format_html_join("", '<span class="second"><a href="{}">{}</a></span>', lines),
        )  # fmt: skip

    def render_outcomes(self, record: Any) -> SafeString:
        counted = record.coverage["outcomes"]
        if not counted:
            return format_html('<span class="aside">{}</span>', "no readings")
        page = reverse("report", args=[record.pk])
        told = ((page, state(row["word"], f"{row['count']} {row['word']}", "verdict")) for row in counted)
        return format_html_join("", '<a class="d-block" href="{}#readings">{}</a>', told)

    def render_file(self, record: Any) -> SafeString:
        found = _state(record)
        if found == BEING_MADE:
            return format_html('<span class="aside">{}</span>', found)
        return state(found, family="report")


def _state(issue: Any) -> str:
    if issue.replaced:
        return "replaced"
    if issue.withdrawn:
        return "withdrawn"
    return "issued" if getattr(issue, "file", None) else BEING_MADE


def _day_issued(issue: Issue) -> date:
    """The day at the site."""
    return issue.visit.structure.site.day_at(issue.issued_at)


def _counts(rows: list[dict[str, Any]]) -> str | None:
    return ", ".join(f"{row['count']} {row['word']}" for row in rows) or None
