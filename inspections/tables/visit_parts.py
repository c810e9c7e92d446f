"""The parts of a visit: what was seen, what not and why, and the answers that can be given now."""

from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.models import Look, PartLook, Visit
from inspections.visit_parts import PartRow
from sites.exports.columns import InFile
from sites.templatetags.downlead import state, when


class PartsTable(tables.Table):
    """Takes rows of ``visit_parts``. may_enter, may_correct: what the person may do now"""

    part = tables.Column(accessor="part__name", verbose_name="Part")
    seen = tables.Column(empty_values=(), verbose_name="Looked at")
    words = tables.Column(empty_values=(), verbose_name="Remark")
    act = tables.Column(empty_values=(), verbose_name="Answer")

    row_head = "part"
    caption = "Parts from the roof down"
    empty_head = "No part is listed here"

    class Meta:
        orderable = False
        row_attrs = {"id": lambda record: f"part-{record.part.pk}"}

    def __init__(
        self, *args: Any, visit: Visit, may_enter: bool = False, may_correct: bool = False, **kwargs: Any
    ):
        self.visit, self.may_enter, self.may_correct = visit, may_enter, may_correct
        offers = may_enter or may_correct
        super().__init__(*args, **kwargs, exclude=() if offers else ("act",))

    def group_of(self, record: PartRow) -> str:
        return record.level

    def in_file(self) -> InFile:
        return {
            "part": (("Part", "part__name"), ("Kind", "part__kind"), ("System", "part__system__name")),
            "seen": (("Looked at", "look__outcome"), ("Not seen because", "look__reason"), ("By", "look__by"),
                ("Looked at on", "look__at"), ("Recorded at", "look__recorded_at")),
            "words": (
                ("Remark", "look__words"), ("Defect", "look__defect__words"),
                ("Corrected because", "look__correction"),
            ),
            **({"act": ()} if self.may_enter or self.may_correct else {}),
        }  # fmt: skip

    def render_part(self, record: PartRow) -> SafeString:
        return format_html(
            '<a href="{}">{}</a><span class="second">{}</span>',
            reverse("part", args=[record.part.pk]), record.part.name, record.part.system.name,
        )  # fmt: skip

    def render_seen(self, record: PartRow) -> SafeString:
        look = record.look
        if look is None:
            return state("not answered", family="part")
        return format_html('{}<span class="second">{}, {}</span>', look_state(look), look.by, when(look.at))

    def render_words(self, record: PartRow) -> SafeString | str:
        said = "" if record.look is None else look_words(record.look)
        return said or format_html('<span class="aside">{}</span>', "none")

    def render_act(self, record: PartRow) -> SafeString | str:
        part, look = record.part, record.look
        if look is not None:
            if not self.may_correct:
                return ""
            return format_html(
                '<a href="{}">Correct<span class="visually-hidden"> {}</span></a>',
                reverse("part-look-correct", args=[look.pk]), part.name,
            )  # fmt: skip
        if not self.may_enter:
            return ""
        return format_html(
            '<div class="acts"><button class="btn btn-quiet hand" name="parts" value="{}">Seen'
            '<span class="visually-hidden">: {}</span></button>'
            '<a class="btn btn-quiet hand" href="{}">Not seen, or a defect'
            '<span class="visually-hidden">: {}</span></a></div>',
            part.pk, part.name, reverse("visit-part", args=[self.visit.pk, part.pk]), part.name,
        )  # fmt: skip


class PartsApartTable(PartsTable):
    """What of a visit's parts was not seen, or seen with a defect."""

    caption = "Parts not seen, and parts seen with a defect"

    class Meta(PartsTable.Meta):
        row_attrs = {}


def look_state(look: PartLook) -> SafeString:
    """Shape and words of an answer."""
    return state(Look(look.outcome).label, look.in_words, "part")


def look_words(look: PartLook) -> SafeString | str:
    """The remark, the way to the defect, and what it corrects."""
    said: SafeString | str = look.words
    if look.defect is not None:
        said = format_html(
            '{} <a href="{}">{}</a>', said, reverse("defect", args=[look.defect.pk]),
            f"Defect: {look.defect.place}, {look.defect.urgency.word}",
        )  # fmt: skip
    if look.replaces is not None:
        said = format_html(
            '{}<span class="second">was “{}”; corrected: {}</span>',
            said,
            look.replaces.in_words,
            look.correction,
        )
    return said
