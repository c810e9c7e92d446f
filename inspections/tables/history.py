"""The history of one point: what was read, and the visits at which it was not."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.models import NoReading, Verdict, Visit
from inspections.tables import figures
from inspections.tables.visits import RIGHT
from sites.exports.columns import InFile
from sites.tables.sorting import Column
from sites.templatetags.downlead import state
from sites.templatetags.downlead import when as when_tag

NONE = format_html('<span class="aside">{}</span>', "not read")


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One line: a verdict with its reading, or a reason for no reading.

    baseline: the word for it, where it is or was one
    """

    at: datetime
    visit: Visit
    verdict: Verdict | None = None
    no_reading: NoReading | None = None
    baseline: str = ""


class HistoryTable(tables.Table):
    when = Column(by=("at", "what"), empty_values=())
    displayed = Column(by=("ohm", "at", "what"), empty_values=(), attrs=RIGHT)
    method = Column(empty_values=())
    temperature = Column(empty_values=(), attrs=RIGHT)
    instrument = Column(empty_values=())
    corrected = Column(by=("corrected", "at", "what"), empty_values=(), attrs=RIGHT)
    limit = Column(empty_values=(), attrs=RIGHT)
    outcome = Column("Verdict", empty_values=())
    change = Column("Since last", empty_values=())
    visit = Column(empty_values=())

    class Meta:
        empty_text = "It has neither a reading nor a reason at any visit."

    caption = "Every reading of this point, newest first"
    empty_head = "Nothing read here yet"

    def __init__(self, *args, zone: ZoneInfo, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone

    def in_file(self) -> InFile:
        return {
            "when": (
                ("Day", lambda row: row.at.astimezone(self.zone).date()),
                ("Read at", "at"),
                ("Baseline", "baseline"),
            ),
            "displayed": (
                ("Displayed", lambda row: figures.displayed_number(row.verdict and row.verdict.reading)),
                ("As displayed", "verdict__reading__text"),
                ("Unit", "verdict__reading__unit"),
                ("Reading [Ω]", "verdict__reading__value_ohm"),
            ),
            "method": (
                ("Method", "verdict__reading__method"),
                ("Current [A]", "verdict__reading__current_a"),
            ),
            "temperature": (
                ("Temperature [°C]", "verdict__reading__temperature_c"),
                ("Temperature taken", "verdict__reading__temperature_source"),
            ),
            "instrument": (("Instrument", "verdict__reading__instrument__serial"),),
            "corrected": (
                ("Corrected [Ω]", "verdict__corrected_ohm"),
                ("± U [Ω]", "verdict__uncertainty_ohm"),
            ),
            "limit": (
                ("Limit [Ω]", "verdict__limit__limit_ohm"),
                ("Limit at [°C]", "verdict__limit__reference_temperature_c"),
            ),
            "outcome": (
                ("Verdict", "verdict__outcome"),
                ("Reason", "verdict__reason"),
                ("Asks", "verdict__questions"),
                ("Not read because", "no_reading__reason"),
                ("What stood in the way", "no_reading__words"),
            ),
            "change": (
                ("Since last", "verdict__change"),
                ("Since last [%]", "verdict__change_percent"),
                ("Since baseline [%]", "verdict__baseline_percent"),
            ),
            "visit": (("Visit", "visit__number"),),
        }

    def render_when(self, record: HistoryRow) -> SafeString:
        when = when_tag(record.at)
        if record.verdict is None:
            return when
        link = format_html('<a href="{}">{}</a>', reverse("reading", args=[record.verdict.pk]), when)
        return format_html("{}{}", link, figures.seconds([record.baseline] if record.baseline else []))

    def render_displayed(self, record: HistoryRow) -> SafeString:
        if record.verdict is None:
            return NONE
        reading = record.verdict.reading
        return format_html("{}{}", figures.displayed(reading), figures.seconds(figures.replaced(reading)))

    def render_method(self, record: HistoryRow) -> SafeString:
        return figures.method(record.verdict.reading) if record.verdict else NONE

    def render_temperature(self, record: HistoryRow) -> SafeString:
        return figures.temperature(record.verdict.reading) if record.verdict else NONE

    def render_instrument(self, record: HistoryRow) -> str | SafeString:
        return record.verdict.reading.instrument.serial if record.verdict else NONE

    def render_corrected(self, record: HistoryRow) -> SafeString:
        return figures.corrected(record.verdict) if record.verdict else NONE

    def render_limit(self, record: HistoryRow) -> SafeString:
        return figures.limit_of(record.verdict.limit, record.verdict.electrodes) if record.verdict else NONE

    def render_outcome(self, record: HistoryRow) -> SafeString:
        if record.verdict is not None:
            return format_html("{}{}", figures.outcome(record.verdict), figures.questions(record.verdict))
        if record.no_reading is None:
            raise ValueError("A line of a history is a reading or a reason.")
        words = [record.no_reading.words] if record.no_reading.words else []
        return format_html("{}{}", state(record.no_reading.reason, family="not read"), figures.seconds(words))

    def render_change(self, record: HistoryRow) -> SafeString:
        return figures.change(record.verdict) if record.verdict else NONE

    def render_visit(self, record: HistoryRow) -> SafeString:
        return format_html(
            '<a href="{}">{}</a>', reverse("visit", args=[record.visit.pk]), record.visit.number
        )
