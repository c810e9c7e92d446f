"""Every entry of a visit, with corrections and withdrawals."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.models import NoReading, PartLook
from inspections.tables.figures import displayed_number
from inspections.tables.visit_parts import look_state
from inspections.visit_entries import Entry, Row
from sites.exports.columns import InFile
from sites.templatetags.downlead import reading as figure
from sites.templatetags.downlead import state, when


class EntriesTable(tables.Table):
    """Takes entries from ``visit_entries.page_of_entries``."""

    point = tables.Column(empty_values=(), verbose_name="Point or part")
    what = tables.Column(empty_values=(), verbose_name="What was entered")
    so = tables.Column(accessor="row__at", verbose_name="Was so")
    recorded = tables.Column(accessor="row__recorded_at", verbose_name="Recorded")
    by = tables.Column(accessor="row__by", verbose_name="By")
    now = tables.Column(empty_values=(), verbose_name="Counts")

    row_head = "point"
    caption = "Every entry in the order in which it was recorded"
    empty_head = "Nothing was entered at this visit"

    class Meta:
        orderable = False
        empty_text = (
            "Readings, reasons for no reading, and what was said of parts stand here once they are entered."
        )
        row_attrs = {"class": lambda record: None if record.counts else "lit"}

    def in_file(self) -> InFile:
        return {
            "point": (("Point", "row__point__number"), ("Part", "row__part__name")),
            "what": (
                ("Displayed", lambda entry: displayed_number(entry.row) if entry.is_reading else None),
                ("As displayed", "row__text"),
                ("Unit", "row__unit"),
                ("Method", "row__method"),
                ("Verdict", "row__verdict__outcome"),
                ("Not read because", "row__reason"),
                ("Part looked at", "row__outcome"),
                ("Remark, or what stood in the way", "row__words"),
            ),
            "so": (("Was so at", "row__at"),),
            "recorded": (
                ("Recorded at", "row__recorded_at"),
                ("On a later day", "late"),
                ("With the file", "file__name"),
            ),
            "now": (
                ("Counts", "counts"),
                ("Corrected by", "correction__by"),
                ("Corrected at", "correction__recorded_at"),
                ("Corrected because", "correction__correction"),
                ("Withdrawn by", "withdrawal__by"),
                ("Withdrawn at", "withdrawal__recorded_at"),
                ("Withdrawn because", "withdrawal__reason"),
            ),
        }

    def render_point(self, record: Entry) -> SafeString:
        if isinstance(record.row, PartLook):
            return format_html(
                '<a href="{}">{}</a>', reverse("part", args=[record.row.part_id]), record.row.part.name
            )
        return format_html(
            '<a href="{}">{}</a>', reverse("point", args=[record.row.point_id]), record.row.point.number
        )

    def render_what(self, record: Entry) -> SafeString:
        return _shown(record.row)

    def render_so(self, record: Entry) -> SafeString:
        return when(record.row.at)

    def render_recorded(self, record: Entry) -> SafeString:
        late = format_html(' <b class="act">{}</b>', "later") if record.late else ""
        file = record.file
        name = format_html('<span class="second">with {}</span>', file.name) if file else ""
        return format_html("{}{}{}", when(record.row.recorded_at), late, name)

    def render_now(self, record: Entry) -> SafeString | str:
        withdrawal, correction = record.withdrawal, record.correction
        if withdrawal is not None:
            return format_html(
                'withdrawn with its import<span class="second">{}, {}: {}</span>',
                withdrawal.by, when(withdrawal.recorded_at), withdrawal.reason,
            )  # fmt: skip
        if correction is not None:
            return format_html(
                'corrected to {}<span class="second">{}, {}{}</span>',
                _shown(correction), correction.by, when(correction.recorded_at),
                "" if isinstance(correction, NoReading) else f": {correction.correction}",
            )  # fmt: skip
        return "counts; a correction" if record.row.replaces_id else "counts"


def _shown(row: Row) -> SafeString:
    if isinstance(row, PartLook):
        words = format_html('<span class="second">{}</span>', row.words) if row.words else ""
        return format_html("{}{}", look_state(row), words)
    if isinstance(row, NoReading):
        words = format_html('<span class="second">{}</span>', row.words) if row.words else ""
        return format_html("{}{}", state(row.reason, "", "not read"), words)
    verdict = getattr(row, "verdict", None)
    return format_html(
        '<a href="{}">{}</a><span class="second">{}{}</span>',
        reverse("reading", args=[row.pk]), figure(row.text, row.unit), row.method,
        f"; {verdict.outcome}" if verdict else "",
    )  # fmt: skip
