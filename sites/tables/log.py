"""The firm's log as a list: newest first, each entry with its hash."""

from dataclasses import dataclass

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from sites.exports.columns import InFile
from sites.log_subjects import Subject
from sites.models import LogEntry
from sites.tables.sorting import Column
from sites.templatetags.downlead import when

OUTSIDE = "outside your grant"
SHORT = 16


@dataclass(frozen=True, slots=True)
class LogRow:
    """open: whether more than the hashes may be shown; subject: its page and its name, where it has a page"""

    entry: LogEntry
    open: bool
    subject: Subject | None = None

    @property
    def about(self) -> str:
        """The kind of the subject and what it is called: "visit 81", "event: Theatre Block"."""
        kind = self.entry.subject_kind
        if self.subject is None:
            return kind
        called = self.subject.called
        return f"{kind} {called}" if called[:1].isdigit() else f"{kind}: {called}"


class LogTable(tables.Table):
    # The log is long and is never counted: it runs along its numbers, both ways, which is the order of its times too.
    # By anything else every entry would have to be fetched and sorted; filters find what somebody looks for.
    number = Column("Entry", by="number", empty_values=(), attrs={"td": {"class": "n"}, "th": {"class": "n"}})
    recorded = Column("Recorded (UTC)", empty_values=())
    action = Column("What", empty_values=())
    subject = Column("About", empty_values=())
    who = Column("Who", empty_values=())
    hash = Column("Hash", empty_values=())

    row_head = "number"
    caption = "Log entries, the newest first"

    class Meta:
        attrs = {"class": "rows folds tight"}

    def in_file(self) -> InFile:
        return {
            "number": (("Entry", "entry__number"),),
            "recorded": (("Recorded at", "entry__recorded_at"),),
            "action": (("What", lambda row: row.entry.action if row.open else OUTSIDE),),
            "subject": (
                ("About", lambda row: row.about if row.open else None),
                ("Kind of subject", lambda row: row.entry.subject_kind if row.open else None),
                ("Identity of subject", lambda row: row.entry.subject if row.open else None),
            ),
            "who": (("Who", lambda row: who(row.entry) if row.open else None),),
            "hash": (
                ("Payload", lambda row: row.entry.payload if row.open else None),
                ("Hash of the entry before", "entry__previous"),
                ("Hash", "entry__hash"),
            ),
        }

    def render_number(self, record: LogRow) -> SafeString:
        return format_html(
            '<a href="{}">{}</a>', reverse("log-entry", args=[record.entry.pk]), record.entry.number
        )

    def render_recorded(self, record: LogRow) -> SafeString:
        return when(record.entry.recorded_at)

    def render_action(self, record: LogRow) -> SafeString | str:
        return record.entry.action.capitalize() if record.open else _aside(OUTSIDE)

    def render_subject(self, record: LogRow) -> SafeString | str:
        if not record.open:
            return _aside("not shown")
        about = record.about
        return format_html('<a href="{}">{}</a>', record.subject.address, about) if record.subject else about

    def render_who(self, record: LogRow) -> SafeString | str:
        return who(record.entry) if record.open else _aside("not shown")

    def render_hash(self, record: LogRow) -> SafeString:
        return format_html("<code>{}…</code>", record.entry.hash[:SHORT])


def who(entry: LogEntry) -> str:
    return entry.person.name if entry.person else "the program itself"


def _aside(words: str) -> SafeString:
    return format_html('<span class="aside">{}</span>', words)
