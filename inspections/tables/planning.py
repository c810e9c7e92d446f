"""Tables of the planning page."""

from datetime import date
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.models import Visit, VisitState
from inspections.rules.bring_forward import Proposal, monday_of
from inspections.tables.visits import first_inspector
from inspections.workload import WEEKS, WEEKS_IN_A_BLOCK, Week
from sites.tables.sorting import Column, Natural, by_rank
from sites.templatetags.downlead import day, when

RIGHT = {"th": {"class": "n"}, "td": {"class": "n"}}


def week_link(monday: Any) -> SafeString:
    return format_html(
        '<a href="{}">{}</a>', reverse("planning-week", args=[monday.isoformat()]), day(monday)
    )


def _rows(monday: date, where: str, number: int) -> SafeString | int:
    """A number of a week, leading to the rows it counts."""
    address = reverse("planning-week", args=[monday.isoformat()])
    return (
        format_html('<a href="{}#{}" data-rows="{}">{}</a>', address, where, number, number) if number else 0
    )


class WeekTable(tables.Table):
    monday = tables.Column("Week from")
    due = tables.Column("Fall due", attrs=RIGHT)
    again = tables.Column("Due again", attrs=RIGHT)
    with_visit = tables.Column("With a visit", attrs=RIGHT)
    planned = tables.Column("Visits planned", attrs=RIGHT)
    load = tables.Column("To do", attrs=RIGHT)
    after = tables.Column("Levelled", attrs=RIGHT)

    caption = "Workload by week"

    class Meta:
        orderable = False

    def in_file(self) -> dict[str, Any]:
        names = (("Week from", "monday"), ("Fall due", "due"), ("Due again", "again"),
                 ("With a visit planned", "with_visit"),
                 ("Visits planned", "planned"), ("To do", "load"), ("If brought forward", "after"))  # fmt: skip
        return {path: ((head, path),) for head, path in names}

    def render_monday(self, record: Week) -> SafeString:
        return week_link(record.monday)

    def render_due(self, record: Week) -> SafeString | int:
        return _rows(record.monday, "due", record.due)

    def render_planned(self, record: Week) -> SafeString | int:
        return _rows(record.monday, "planned", record.planned)


class ProposalTable(tables.Table):
    due = tables.Column("Due on")
    number = tables.Column("How many", attrs=RIGHT)
    on = tables.Column("Could be done in the week, from")
    earliest = tables.Column("Early window from")

    caption = "Proposals to bring work forward"
    empty_head = "Nothing to bring forward"

    class Meta:
        orderable = False
        empty_text = "No week is fuller than the mean, or no rule’s early window reaches a week with room."

    def in_file(self) -> dict[str, Any]:
        names = (("Due on", "due"), ("Number", "number"), ("From", "on"), ("Early window from", "earliest"))
        return {path: ((head, path),) for head, path in names}

    def render_due(self, record: Proposal) -> SafeString:
        address = reverse("planning-week", args=[monday_of(record.due).isoformat()])
        return format_html('<a href="{}">{}</a>', address, day(record.due))

    def render_on(self, record: Proposal) -> SafeString:
        return when(record.on)

    def render_earliest(self, record: Proposal) -> SafeString:
        return when(record.earliest)


class KindTable(tables.Table):
    """Six quarters of thirteen weeks each."""

    name = tables.Column("Kind")
    total = tables.Column("Eighteen months", attrs=RIGHT)

    class Meta:
        orderable = False
        empty_text = "Nothing falls due in the next eighteen months."

    empty_head = "Nothing falls due"

    def __init__(self, *args: Any, head: str, caption: str, **kwargs: Any) -> None:
        blocks = WEEKS // WEEKS_IN_A_BLOCK
        extra = [
            (f"block{n}", tables.Column(self.head_of(n), accessor=f"blocks__{n}", attrs=RIGHT))
            for n in range(blocks)
        ]
        sequence = ("name", *(name for name, _ in extra), "total")
        super().__init__(*args, extra_columns=extra, sequence=sequence, **kwargs)
        self.columns["name"].column.verbose_name = head
        self.caption = caption

    @staticmethod
    def head_of(n: int) -> str:
        return f"weeks {n * WEEKS_IN_A_BLOCK + 1} to {(n + 1) * WEEKS_IN_A_BLOCK}"


class PlannedVisitTable(tables.Table):
    """Visits with what is odd about their plan."""

    number = Column("Visit", by="number")
    structure = Column(by=(Natural("structure__name"), Natural("structure__site__name")), empty_values=())
    planned_on = Column("Planned for", by="planned_on")
    odd = Column("Noticed", by=lambda table: (table.odd_key, "planned_on"), empty_values=())
    state = Column(by=(by_rank("state", VisitState.values), "planned_on"))
    plan = Column("Plan", empty_values=())

    def __init__(
        self, *args: Any, head: str, odd: str, caption: str, empty: str, may_plan: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, exclude=() if may_plan else ("plan",), **kwargs)
        self.odd_path, self.caption = odd, caption
        self.odd_key: Any = first_inspector() if odd == "goes" else odd
        self.columns["odd"].column.verbose_name = head
        self.empty_head, self.empty_text = empty, "A visit appears here by itself."

    def in_file(self) -> dict[str, Any]:
        return {
            "number": (("Visit", "number"),),
            "structure": (("Structure", "structure__name"), ("Site", "structure__site__name"),
                          ("Client", "structure__site__client__name")),
            "planned_on": (("Planned for", "planned_on"),),
            "odd": ((str(self.columns["odd"].header), self.odd_path),),
            **({"plan": ()} if "plan" in self.columns.names() else {}),
        }  # fmt: skip

    def render_number(self, record: Visit) -> SafeString:
        return format_html('<a href="{}">Visit {}</a>', reverse("visit", args=[record.pk]), record.number)

    def render_structure(self, record: Visit) -> SafeString:
        site = record.structure.site
        return format_html(
            '{}<span class="second">{} · {}</span>', record.structure.name, site.name, site.client.name
        )

    def render_planned_on(self, record: Visit) -> SafeString:
        return when(record.planned_on)

    def render_odd(self, record: Any) -> Any:
        value = getattr(record, self.odd_path)
        if isinstance(value, int):
            return format_html('<a href="{}#life">{}</a>', reverse("visit", args=[record.pk]), value)
        if isinstance(value, str):
            return value
        return format_html(
            '<a href="{}">{}</a>', reverse("due-days", args=[record.structure_id]), when(value)
        )

    def render_plan(self, record: Visit) -> SafeString | str:
        if record.state != VisitState.PLANNED:
            return ""
        return format_html(
            '<a href="{}">Change the plan<span class="visually-hidden"> of visit {}</span></a>',
            reverse("visit-change-plan", args=[record.pk]), record.number,
        )  # fmt: skip
