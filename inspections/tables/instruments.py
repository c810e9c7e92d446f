"""Instruments: the list, and of one its ranges, its calibrations and what was read with it."""

from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import instrument_list
from inspections.instrument_list import state_of
from inspections.models import Calibration, Instrument, InstrumentRange, Verdict
from inspections.tables import figures
from inspections.tables.visits import BY_OUTCOME, RIGHT
from sites import filestore
from sites.exports.columns import InFile
from sites.tables.sorting import Column, Natural
from sites.templatetags.downlead import day, state, when
from sites.templatetags.downlead import reading as figure
from sites.templatetags.figures import file_size


class InstrumentTable(tables.Table):
    """Records are instruments ``with_state`` of ``today``."""

    serial = Column("Serial number", by=Natural("serial"))
    description = Column("What it is", by=(Natural("description"), Natural("serial")))
    until = Column("Calibrated until", by=("last_until", Natural("serial")), empty_values=())
    standing = Column(
        "State",
        by=lambda table: (instrument_list.by_consequence(table.today), "last_until", Natural("serial")),
        empty_values=(),
    )

    row_head = "serial"
    caption = "Instruments"
    empty_head = "No instrument is recorded yet"

    class Meta:
        empty_text = "Instruments come in with a file of instruments, or are added here by the planner."

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def in_file(self) -> InFile:
        return {
            "until": (("Calibrated until", "last_until"),),
            "standing": (("State", lambda row: state_of(row, self.today)),),
        }

    def render_serial(self, record: Instrument) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("instrument", args=[record.pk]), record.serial)

    def render_until(self, record: Any) -> SafeString | str:
        if record.last_until is None:
            return format_html('<span class="aside">{}</span>', "no calibration recorded")
        return when(record.last_until)

    def render_standing(self, record: Any) -> SafeString:
        return state(state_of(record, self.today), family="instrument")


class RangeTable(tables.Table):
    """Records are an instrument's ranges, the finest first."""

    text = tables.Column("Range")
    step = tables.Column("Worth of the last digit", accessor="step_ohm", attrs=RIGHT)
    accuracy = tables.Column("Accuracy", empty_values=())
    recorded = tables.Column("Recorded", accessor="recorded_at")

    caption = "Ranges of this instrument, the finest first"
    empty_head = "No range is recorded"

    class Meta:
        orderable = False
        empty_text = "A reading names the range it was shown on, so the ranges come first."

    def in_file(self) -> InFile:
        return {
            "text": (("Top of the range [Ω]", "top_ohm"),),
            "step": (("Step [Ω]", "step_ohm"),),
            "accuracy": (("Percent of reading", "percent_of_reading"), ("Digits", "digits")),
            "recorded": (("Recorded at", "recorded_at"),),
        }

    def render_step(self, record: InstrumentRange) -> SafeString:
        return figure(*figures.in_unit(record.step_ohm, record.text.split()[-1]))

    def render_accuracy(self, record: InstrumentRange) -> str:
        return f"±\u00a0({record.percent_of_reading}\u00a0% of reading + {record.digits} digits)"

    def render_recorded(self, record: InstrumentRange) -> SafeString:
        return when(record.recorded_at)


class CalibrationTable(tables.Table):
    """Records are calibrations with file, withdrawal and what corrected them; the latest first.

    may_change: whether this person may correct and withdraw
    """

    certificate = tables.Column("Certificate")
    held = tables.Column("Holds", empty_values=())
    found = tables.Column("As found, as left", empty_values=())
    laboratory = tables.Column("Who calibrated", empty_values=())
    recorded = tables.Column("Recorded", accessor="recorded_at")
    acts = tables.Column("Put right", empty_values=())

    caption = "Calibrations of this instrument, the latest first; what was corrected or withdrawn stays"
    empty_head = "No calibration is recorded"

    class Meta:
        orderable = False
        empty_text = "Without one, nothing that is read with it can be judged."

    def __init__(self, *args: Any, may_change: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.may_change = may_change
        if not may_change:
            self.columns.hide("acts")

    def in_file(self) -> InFile:
        return {
            "held": (("Calibrated on", "calibrated_on"), ("Valid until", "valid_until"), ("Counts", counts)),
            "found": (("As found", "as_found"), ("As left", "as_left")),
            "laboratory": (("Who calibrated", "laboratory"), ("Words", "words")),
            "recorded": (("Recorded at", "recorded_at"),),
            "acts": (),
        }

    def render_certificate(self, record: Calibration) -> SafeString:
        name = record.certificate
        file = getattr(record, "file", None)
        if file is None:
            return format_html('{}<span class="second">{}</span>', name, "the certificate itself is not kept")
        about = f"{file.get_media_display()}, {file_size(file.size)}"
        if not filestore.holds(file.sha256):
            return format_html('{}<span class="second">{}</span>', name, state("missing", family="document"))
        return format_html(
            '<a href="{}" download>{}</a><span class="second">{}</span>',
            reverse("calibration-file", args=[record.pk]), name, about,
        )  # fmt: skip

    def render_held(self, record: Calibration) -> SafeString:
        gone = counts(record)
        return format_html(
            "{} to {}{}",
            when(record.calibrated_on), when(record.valid_until),
            format_html('<span class="second">{}</span>', gone) if gone != "counts" else "",
        )  # fmt: skip

    def render_found(self, record: Calibration) -> SafeString:
        return format_html(
            '{}<span class="second">{}</span>',
            f"found {record.get_as_found_display()}", f"left {record.get_as_left_display()}",
        )  # fmt: skip

    def render_laboratory(self, record: Calibration) -> SafeString:
        return format_html('{}<span class="second">{}</span>', record.laboratory or "not said", record.words)

    def render_recorded(self, record: Calibration) -> SafeString:
        return when(record.recorded_at)

    def render_acts(self, record: Calibration) -> SafeString | str:
        if counts(record) != "counts":
            return ""
        named = format_html('<span class="visually-hidden"> certificate {}</span>', record.certificate)
        return format_html(
            '<a href="{}">Correct{}</a> · <a href="{}">Withdraw{}</a>',
            reverse("calibration-correct", args=[record.pk]), named,
            reverse("calibration-withdraw", args=[record.pk]), named,
        )  # fmt: skip


def counts(record: Calibration) -> str:
    """Whether a calibration counts, and why not where it does not."""
    if withdrawn := getattr(record, "withdrawal", None):
        return f"withdrawn: {withdrawn.reason}"
    if later := getattr(record, "replaced_by", None):
        return f"corrected: {later.correction}"
    return "counts"


class UsedTable(tables.Table):
    """Records are verdicts of readings taken with the instrument, the latest first, where the person may look."""

    at = Column("Read at", by="reading__at", empty_values=())
    point = Column(
        by=(Natural("reading__point__structure__name"), "reading__point__number_order", "reading__at"),
        empty_values=(),
    )
    displayed = Column(by="reading__value_order", empty_values=(), attrs=RIGHT)
    outcome = Column("Verdict", by=(BY_OUTCOME, "reading__at"), empty_values=())
    visit = Column(by=("reading__visit__number", "reading__at"), empty_values=())

    caption = "Readings taken with this instrument, the latest first"
    empty_head = "Nothing was read with it where you may look"

    def in_file(self) -> InFile:
        return {
            "at": (("Read at", "reading__at"),),
            "point": (
                ("Point", "reading__point__number"),
                ("Place", "reading__point__place"),
                ("Structure", "reading__point__structure__name"),
                ("Site", "reading__point__structure__site__name"),
            ),
            "displayed": (
                ("Displayed", lambda verdict: figures.displayed_number(verdict.reading)),
                ("As displayed", "reading__text"),
                ("Unit", "reading__unit"),
            ),
            "outcome": (("Verdict", "outcome"), ("Reason", "reason")),
            "visit": (("Visit", "reading__visit__number"),),
        }

    def render_at(self, record: Verdict) -> SafeString:
        zone = ZoneInfo(record.reading.point.structure.site.time_zone)
        return format_html('<span class="nb">{}</span>', day(record.reading.at.astimezone(zone).date()))

    def render_point(self, record: Verdict) -> SafeString:
        point = record.reading.point
        return format_html(
            '<a href="{}">{}</a><span class="second">{}, {}</span>',
            reverse("point", args=[point.pk]), point.number, point.structure.name, point.structure.site.name,
        )  # fmt: skip

    def render_displayed(self, record: Verdict) -> SafeString:
        return figures.displayed(record.reading)

    def render_outcome(self, record: Verdict) -> SafeString:
        return format_html(
            '{}<span class="second"><a href="{}">working<span class="visually-hidden"> of point {}</span></a></span>',
            state(record.outcome, family="verdict"), reverse("reading", args=[record.reading_id]),
            record.reading.point.number,
        )  # fmt: skip

    def render_visit(self, record: Verdict) -> SafeString:
        visit = record.reading.visit
        return format_html('<a href="{}">Visit {}</a>', reverse("visit", args=[visit.pk]), visit.number)
