"""The list of defects, and how a defect's state, urgency and age are told anywhere."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.defect_life import Life, found_on
from inspections.defect_list import STANDING
from inspections.models import Urgency
from inspections.rules.defects import Standing, State
from inspections.standing_words import age_words
from sites.exports.columns import InFile
from sites.tables.sorting import Column, Natural, by_rank
from sites.templatetags.downlead import day, state, when

BY_STATE = by_rank("state", (*STANDING, State.CLOSED, State.WITHDRAWN))


class DefectTable(tables.Table):
    """Takes lives from ``defect_list.page_of``."""

    what = Column("Defect", by=Natural("words"), empty_values=(), accessor="defect__words")
    state = Column(by=("-is_danger", BY_STATE, "found_at"), empty_values=(), accessor="standing")
    urgency = Column("How urgent", by=("urgency__rank", "found_at"), accessor="defect__urgency")
    structure = Column(
        "Where",
        by=(Natural("structure__name"), Natural("structure__site__name"), "found_at"),
        accessor="defect__structure",
    )
    age = Column("Found", by="found_at", empty_values=())

    row_head = "what"
    caption = "Defects, the gravest first"

    def in_file(self) -> InFile:
        return {
            "what": (
                ("Defect", "defect__words"),
                ("Place", "defect__place"),
                ("Point", "defect__point__number"),
                ("Visit", "defect__visit__number"),
            ),
            "state": (
                ("State", lambda life: life.standing.state.value),
                ("Told as dangerous", "standing__told"),
                ("Accepted until", "standing__until"),
            ),
            "urgency": (("How urgent", "defect__urgency__word"), ("Which means", "defect__urgency__meaning")),
            "structure": (
                ("Structure", "defect__structure__name"),
                ("Site", "defect__structure__site__name"),
                ("Client", "defect__structure__site__client__name"),
            ),
            "age": (("Found on", "found_on"), ("Age [days]", "age"), ("Seen at visits, number", "visits")),
        }

    def render_what(self, record: Life) -> SafeString:
        return format_html(
            '<a href="{}">{}</a><span class="second">{}</span>',
            reverse("defect", args=[record.defect.pk]), record.defect.words, self._place(record),
        )  # fmt: skip

    @staticmethod
    def _place(record: Life) -> str:
        point = record.defect.point
        return f"{record.defect.place}, point {point.number}" if point else record.defect.place

    def render_state(self, record: Life) -> SafeString:
        return defect_state(record.standing)

    def render_urgency(self, value: Urgency) -> SafeString:
        return urgency(value)

    def render_structure(self, record: Life) -> SafeString:
        place = record.defect.structure
        return format_html(
            '<a href="{}">{}</a><span class="second">{} › {}</span>',
            reverse("structure", args=[place.pk]), place.name, place.site.client.name, place.site.name,
        )  # fmt: skip

    def render_age(self, record: Life) -> SafeString:
        return format_html(
            '{}<span class="second">{}</span>', when(found_on(record.defect)), how_long(record)
        )


class StructureDefects(DefectTable):
    """The defects of one structure, so without saying where; at most as many as the page shows, and in that order."""

    caption = "Defects that stand at this structure, the gravest first"

    class Meta:
        orderable = False
        exclude = ("structure",)


def defect_state(standing: Standing) -> SafeString:
    """Shape and word; told as dangerous and open is one state of its own, else the mark stands below."""
    if standing.told and standing.state is State.OPEN:
        return state("dangerous", "open, told as dangerous", "defect")
    words = f"accepted until {day(standing.until)}" if standing.until else standing.state.value
    shown = state(standing.state.value, words, "defect")
    return format_html('{}<span class="second">told as dangerous</span>', shown) if standing.told else shown


def urgency(value: Urgency) -> SafeString:
    """The scheme's word with what it means: never a letter alone."""
    return format_html('{}<span class="second">{}</span>', value.word, value.meaning)


def how_long(life: Life) -> str:
    """``3 years 7 months, seen at 4 visits``"""
    visits = f"{life.visits} visit{'s' if life.visits > 1 else ''}"
    return f"{age_words(life.found_on, life.until_day)}, seen at {visits}"
