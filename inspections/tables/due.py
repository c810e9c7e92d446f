"""The due list."""

from collections.abc import Container
from datetime import date

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import due_list
from inspections.models import DueDate
from inspections.standing_words import Called, Listed, Owed, share_words
from sites.exports.columns import InFile
from sites.models import Client, Site, Structure
from sites.tables.sorting import Column, Natural
from sites.templatetags.downlead import day, state, when
from sites.templatetags.figures import NO_BREAK_SPACE

GROUPS = {
    "overdue": "Overdue",
    "in grace": "In grace",
    "due": "Within 60 days",
    "due soon": "Within 60 days",
    "not yet due": "Later",
    "suspended": "Suspended",
    "no longer applies": "No longer asked for",
}


class DueTable(tables.Table):
    """Takes what ``due_list.slice_of`` gives. plans_in: ids of the firms where the person plans"""

    due = Column(by="due", accessor="row__due")
    state = Column(by=lambda _: (due_list.by_consequence(), "due"), empty_values=())
    structure = Column(by=(Natural("structure__name"), Natural("site__name"), "due"), empty_values=())
    demand = Column(by=("demand", "due"), accessor="row__demand")
    author = Column(
        by=("author", "due"),
        accessor="row__author",
        verbose_name="Whose rule",
        attrs={"td": {"class": "whose"}},
    )
    why = Column(accessor="row__why", verbose_name="Why this date")
    planned = Column(by=lambda _: (due_list.next_planned(), "due"), empty_values=())

    row_head = "structure"
    caption = "Obligations, the most pressing first"

    def __init__(self, *args, plans_in: Container[int] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.plans_in = plans_in

    def group_of(self, record: Owed) -> str:
        return GROUPS[record.state]

    def in_file(self) -> InFile:
        return {
            "due": (("Due", "row__due"), ("Grace until", "row__grace_until")),
            "state": (
                ("State", "state"),
                ("In words", lambda owed: owed.words.replace(NO_BREAK_SPACE, " ")),
                ("Overdue since", "overdue_since"),
            ),
            "structure": (
                ("Structure", "row__structure__name"),
                ("Site", "row__site__name"),
                ("Client", "row__client__name"),
            ),
            "demand": (
                ("Demand", "row__demand"),
                ("Points concerned, number", "row__points"),
                ("Parts concerned, number", "row__parts"),
            ),
            "author": (
                ("Whose rule", "row__author"),
                ("Source", "row__rule__source"),
                ("Edition", "row__rule__edition"),
            ),
            "planned": (("Planned for", "visit_on"),),
        }

    def render_due(self, record: Owed) -> SafeString:
        return due_day(record)

    def render_state(self, record: Owed) -> SafeString:
        return obligation_state(record)

    def render_structure(self, record: Owed) -> SafeString:
        return structure_of(record.row.structure, record.row.site, record.row.client)

    def render_demand(self, record: Owed) -> SafeString | str:
        return demand_of(record.row)

    def render_author(self, record: Owed) -> SafeString | str:
        return author_of(record.row)

    def render_planned(self, record: Owed) -> SafeString | str:
        return plan_of(record, plans_in=self.plans_in)


def plan_of(owed: Owed, *, plans_in: Container[int]) -> SafeString | str:
    """The visit next planned that would settle it, or the way to plan one."""
    if owed.visit and owed.visit_on:
        address = reverse("visit", args=[owed.visit])
        return format_html(
            '<a class="nb" href="{}">{}</a>{}', address, day(owed.visit_on), too_late(owed, owed.visit_on)
        )
    if not owed.runs:
        return "none needed"
    if owed.row.firm_id in plans_in:
        address = reverse("plan-visit", args=[owed.row.structure_id])
        return format_html(
            '<b class="nb">not planned</b><span class="second d-print-none"><a href="{}">Plan a visit'
            '<span class="visually-hidden"> to {}</span></a></span>', address, owed.row.structure.name,
        )  # fmt: skip
    return format_html('<b class="nb">{}</b>', "not planned")


def too_late(owed: Owed, planned_on: date) -> SafeString | str:
    """A remark where the planned visit comes too late for it."""
    if not owed.overdue_by(planned_on):
        return ""
    return format_html('<span class="second"><b class="act">{}</b></span>', "overdue by then")


def due_day(owed: Owed) -> SafeString:
    """The due day, leading to its working; while suspended it is a day that would have been."""
    if owed.state != "suspended":
        return linked_day(owed)
    return format_html('{}<span class="second">would have been due</span>', linked_day(owed))


def linked_day(owed: Owed) -> SafeString:
    return format_html('<a href="{}">{}</a>', owed.working, when(owed.row.due))


def obligation_state(owed: Owed) -> SafeString:
    """Shape and words of an obligation."""
    return state(owed.state, owed.words, "obligation")


def structure_of(structure: Structure | Called, site: Site | Called, client: Client | Called) -> SafeString:
    return format_html(
        '<a href="{}">{}</a><span class="second">{} · {}</span>',
        reverse("structure", args=[structure.pk]), structure.name, site.name, client.name,
    )  # fmt: skip


def demand_of(row: DueDate | Listed) -> SafeString | str:
    """What is asked for, and of how many points and parts where a visit left some."""
    demand, left = row.demand.capitalize(), share_words(row.points, row.parts)
    return format_html('{}<span class="second">of {}</span>', demand, left) if left else demand


def author_of(row: DueDate | Listed) -> SafeString | str:
    """Who demands it, by which source and edition."""
    if row.rule is None:
        return row.author
    return format_html('{}<span class="second">{}, {}</span>', row.author, row.rule.source, row.rule.edition)
