"""A past day: both answers side by side."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inspections.models import EventKind
from inspections.replay.status import Stated
from inspections.replay.two_views import FactLine, Pair, TwoViews
from inspections.standing_words import in_days, share_left
from sites.exports.columns import InFile
from sites.models import Structure
from sites.templatetags.downlead import day as in_words
from sites.templatetags.downlead import state, when
from sites.templatetags.figures import with_unit

MOST_REASONS = 3


@dataclass(frozen=True, slots=True)
class Row:
    """One obligation of a structure in both answers; pair: None where neither asks anything"""

    structure: Structure
    views: TwoViews
    pair: Pair | None

    @property
    def differs(self) -> bool:
        return self.views.differs if self.pair is None else self.pair.differs


def rows_of(structure: Structure, views: TwoViews, overdue: str = "") -> list[Row]:
    """overdue: "was" or "known" for those alone that are overdue in that answer"""
    if overdue:
        return [Row(structure, views, pair) for pair in views.overdue(overdue)]
    return [Row(structure, views, pair) for pair in views.pairs] or [Row(structure, views, None)]


class PastDayTable(tables.Table):
    """Takes ``Row``s. day, known: the days asked about, kept in the links; alone: the page is about one structure"""

    structure = tables.Column(empty_values=())
    owed = tables.Column(empty_values=(), verbose_name="Owed, and by whose rule")
    was = tables.Column(empty_values=(), verbose_name="As it was")
    known = tables.Column(empty_values=(), verbose_name="As known then")
    why = tables.Column(empty_values=(), verbose_name="Why they differ")

    row_head = "structure"
    caption = "Each obligation as it was on that day, and as the record knew it"

    class Meta:
        orderable = False
        row_attrs = {"class": lambda record: "lit" if record.differs else None}

    def __init__(self, *args, day: date, known: date, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.day, self.known_by = day, known

    def in_file(self) -> InFile:
        return {
            "structure": (
                ("Structure", "structure__name"),
                ("Site", "structure__site__name"),
                ("Client", "structure__site__client__name"),
            ),
            "owed": (
                ("Owed", lambda row: row.pair and row.pair.either.obligation.demand),
                ("Due", lambda row: row.pair and row.pair.either.obligation.due),
                ("Whose rule", lambda row: row.pair and asker(row.pair.either)),
            ),
            "was": _side_in_file("was", "As it was"),
            "known": _side_in_file("known", "As known then"),
            "why": (
                ("They differ", "differs"),
                (
                    "Recorded afterwards",
                    lambda row: "; ".join(_late(row)) if row.differs else None,
                ),
            ),
        }

    def render_structure(self, record: Row) -> SafeString:
        address = reverse("past-day-structure", args=[record.structure.pk])
        asked = urlencode({"day": self.day.isoformat(), "known": self.known_by.isoformat()})
        return format_html(
            '<a href="{}?{}">{}</a><span class="second">{}</span>',
            address, asked, record.structure.name, record.structure.site.name,
        )  # fmt: skip

    def render_owed(self, record: Row) -> SafeString | str:
        if record.pair is None:
            return "nothing asked" if record.views.was.detail else "not described for that day"
        row = record.pair.either
        owed = row.obligation
        what = owed.demand.capitalize()
        if share := share_left(owed):
            what += f", {share}"
        return format_html('{} by {}<span class="second">{}</span>', what, when(owed.due), asker(row))

    def render_was(self, record: Row) -> SafeString | str:
        return side(record.pair.was if record.pair else None, self.day)

    def render_known(self, record: Row) -> SafeString | str:
        return side(record.pair.known if record.pair else None, self.day)

    def render_why(self, record: Row) -> SafeString | str:
        if not record.differs:
            return "same"
        lines = record.views.late(record.pair)[:MOST_REASONS]
        return format_html_join(
            "",
            '<span class="d-block">{}, recorded {}</span>',
            ((reason(line), when(_recorded_on(line, record))) for line in lines),
        )


def _side_in_file(name: str, head: str) -> tuple[Any, ...]:
    """State, due day and since when overdue, of one answer."""
    path = f"pair__{name}__obligation__"
    return (
        (head, f"{path}state"),
        (f"{head}: due", f"{path}due"),
        (f"{head}: overdue since", f"{path}overdue_since"),
    )


def _recorded_on(line: FactLine, row: Row) -> date:
    """The day at the site on which the record learned of it: by those days it is decided what was known."""
    return line.recorded.astimezone(ZoneInfo(row.structure.site.time_zone)).date()


def _late(row: Row) -> Iterator[str]:
    for line in row.views.late(row.pair):
        yield f"{line.what} of {in_words(line.so)}, recorded {in_words(_recorded_on(line, row))}"


def reason(line) -> SafeString:
    told = f"{line.what} of {in_words(line.so)}"
    if line.visit is None:
        return format_html("{}", told)
    return format_html('<a href="{}">{}</a>', reverse("visit", args=[line.visit]), told)


def asker(row: Stated) -> str:
    """Who asks for it, in words."""
    if row.rule is not None:
        return f"{row.rule.author_name}: {row.rule.source}, {row.rule.edition}"
    if row.event is not None:
        return f"Event: {EventKind(row.event.kind).label}, {in_words(row.event.on)}"
    return "Return to use"


def side(row: Stated | None, day: date) -> SafeString | str:
    """One answer's state, since when overdue, and the due day where that differs from the row's head."""
    if row is None:
        return "not asked"
    owed = row.obligation
    return format_html(
        '{}<span class="second">{}</span>', state(owed.state, words(row, day), "obligation"), told(row)
    )


def words(row: Stated, day: date) -> str:
    owed = row.obligation
    if owed.state == "overdue":
        return with_unit(in_days(owed.days_overdue or 0), "overdue")
    if owed.state in ("due soon", "not yet due"):
        return f"due in {in_days((owed.due - day).days)}"
    if owed.state == "in grace":
        return f"in grace until {in_words(owed.grace_until)}"
    return "due that day" if owed.state == "due" else owed.state


def told(row: Stated) -> str:
    owed = row.obligation
    due = f"due {in_words(owed.due)}"
    return f"{due}; overdue since {in_words(owed.overdue_since)}" if owed.overdue_since else due
