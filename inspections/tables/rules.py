"""The list of rules, and the structures one stands on."""

from datetime import date

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import rule_lists
from inspections.actions.rules import Rule
from inspections.rule_lists import kind_of
from inspections.rule_words import demand_words, state_of, where_words
from sites.exports.columns import InFile
from sites.models import ProtectionClass, Structure
from sites.tables.sorting import Column, Natural, by_rank
from sites.templatetags.downlead import day, state
from sites.templatetags.figures import NO_BREAK_SPACE

FROM_MEMORY = "from memory"


class RuleTable(tables.Table):
    """Takes editions from ``rule_lists.page_of_rules``."""

    title = Column(by=(Natural("title"), Natural("code"), Natural("edition")), verbose_name="Rule")
    author = Column(
        by=(Natural("author_name"), Natural("title")), verbose_name="Who demands it", empty_values=()
    )
    asks = Column(empty_values=())
    where = Column(empty_values=(), verbose_name="Of which structures")
    source = Column(by=(Natural("source"), Natural("edition")), verbose_name="Source")
    state = Column(
        by=lambda table: (rule_lists.by_state(table.today), "adopted_from"),
        empty_values=(),
        verbose_name="State",
    )

    row_head = "title"
    caption = "Editions of rules by name, the latest first"

    def __init__(self, *args, today: date, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def in_file(self) -> InFile:
        return {
            "title": (("Rule", "title"), ("Code", "code"), ("Edition", "edition")),
            "author": (("Who demands it", "author_name"), ("Kind of author", "author")),
            "asks": (("Asks", lambda row: demand_words(row).replace(NO_BREAK_SPACE, " ")),),
            "where": (("Of which structures", where_words),),
            "source": (("Source", "source"), ("Status of the source", "status"), ("Note", "note")),
            "state": (
                ("State", lambda row: state_of(row, self.today)),
                ("Adopted from", "adopted_from"),
                ("Adopted until", "adopted_until"),
            ),
        }

    def render_title(self, record: Rule) -> SafeString:
        return format_html(
            '<a href="{}">{}</a><span class="second">{}, edition {}</span>',
            reverse("rule", args=[kind_of(record), record.pk]), record.title, record.code, record.edition,
        )  # fmt: skip

    def render_author(self, record: Rule) -> SafeString:
        return format_html(
            '{}<span class="second">{}</span>', record.author_name, record.get_author_display()
        )

    def render_asks(self, record: Rule) -> str:
        return demand_words(record)

    def render_where(self, record: Rule) -> str:
        return where_words(record)

    def render_source(self, record: Rule) -> SafeString:
        status = record.get_status_display()
        shown = format_html("<b>{}</b>", status) if record.status == FROM_MEMORY else status
        return format_html('{}<span class="second">{}</span>', record.source, shown)

    def render_state(self, record: Rule) -> SafeString:
        return format_html(
            '{}<span class="second">{}</span>',
            state(state_of(record, self.today), family="rule"),
            adopted_words(record),
        )


def adopted_words(rule: Rule) -> str:
    """From when until when, where it was adopted."""
    if rule.adopted_from is None:
        return "not adopted from any day"
    until = f" to {day(rule.adopted_until)}" if rule.adopted_until else ", until further notice"
    return f"{day(rule.adopted_from)}{until}"


class StandsOnTable(tables.Table):
    """Structures, by client and site."""

    name = Column(by=(Natural("name"), Natural("site__name")), verbose_name="Structure")
    site = Column(by=(Natural("site__name"), Natural("site__client__name"), Natural("name")))
    use = Column(by=(Natural("use"), Natural("name")))
    protection_class = Column(
        by=(by_rank("protection_class", ProtectionClass.values), Natural("name")), verbose_name="Class"
    )

    row_head = "name"
    caption = "Structures this edition stands on as they are described now"

    class Meta:
        prefix = "structures-"

    def in_file(self) -> InFile:
        return {"site": (("Site", "site__name"), ("Client", "site__client__name"))}

    def render_name(self, record: Structure) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("structure", args=[record.pk]), record.name)

    def render_site(self, record: Structure) -> str:
        return f"{record.site.name}, {record.site.client.name}"

    def render_protection_class(self, record: Structure) -> str:
        return record.get_protection_class_display()
