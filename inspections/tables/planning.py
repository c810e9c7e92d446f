"""Tables of the planning page."""

from collections.abc import Collection, Container
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.asked_days import AskedDay
from inspections.models import Visit, VisitState, Wish
from inspections.rules.bring_forward import Proposal, monday_of
from inspections.tables.due import author_of, demand_of, linked_day, obligation_state, plan_of, structure_of
from inspections.tables.visits import first_inspector
from inspections.workload import WEEKS, WEEKS_IN_A_BLOCK, Kind, Week
from sites.exports.columns import InFile
from sites.tables.sorting import Column, Natural, by_rank
from sites.templatetags.downlead import day, when

RIGHT = {"th": {"class": "n"}, "td": {"class": "n"}}


def _zero_or_more(record: Any, bound_column: Any) -> str:
    """A row becomes a list on a phone, in which zeros are left out."""
    return "n" if bound_column.accessor.resolve(record) else "n zero"


NUMBER = {"th": {"class": "n"}, "td": {"class": _zero_or_more}}


def week_link(monday: Any) -> SafeString:
    return format_html(
        '<a href="{}">{}</a>', reverse("planning-week", args=[monday.isoformat()]), day(monday)
    )


def _rows(monday: date, where: str, number: int) -> SafeString | int:
    """A number of a week, leading to the rows it counts."""
    return counted_at(f"{reverse('planning-week', args=[monday.isoformat()])}#{where}", number)


def counted_at(address: str, number: int) -> SafeString | int:
    """A number, leading to as many rows."""
    return format_html('<a href="{}" data-rows="{}">{}</a>', address, number, number) if number else 0


def asked_at(since: date | None = None, until: date | None = None, **chosen: str) -> str:
    """The address of what is asked for on these days, narrowed as ``AskedForm`` takes it."""
    days = {name: day.isoformat() for name, day in (("since", since), ("until", until)) if day}
    return f"{reverse('planning-asked')}?{urlencode(days | chosen)}"


def _worked(monday: date, number: int) -> SafeString:
    """A number of a week that is a sum, leading to its parts."""
    address = reverse("planning-week", args=[monday.isoformat()])
    return format_html('<a href="{}">{}</a>', address, number)


class WeekTable(tables.Table):
    monday = tables.Column("Week from")
    due = tables.Column("Fall due", attrs=NUMBER)
    again = tables.Column("Due again", attrs=NUMBER)
    with_visit = tables.Column("With a visit", attrs=NUMBER)
    planned = tables.Column("Visits planned", attrs=NUMBER)
    load = tables.Column("To do", attrs=NUMBER)
    after = tables.Column("Levelled", attrs=NUMBER)

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

    def render_again(self, record: Week) -> SafeString | int:
        return counted_at(asked_at(record.monday, record.sunday, which="again"), record.again)

    def render_with_visit(self, record: Week) -> SafeString | int:
        address = asked_at(record.monday, record.sunday, which="first", visit="with")
        return counted_at(address, record.with_visit)

    def render_planned(self, record: Week) -> SafeString | int:
        return _rows(record.monday, "planned", record.planned)

    def render_load(self, record: Week) -> SafeString:
        return _worked(record.monday, record.load)

    def render_after(self, record: Week) -> SafeString:
        return _worked(record.monday, record.after)


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
        names = (("Due on", "due"), ("From", "on"), ("Early window from", "earliest"))
        numbers = (("Number", "number"), ("Out of", "out_of"))
        return {"number": numbers, **{path: ((head, path),) for head, path in names}}

    def render_due(self, record: Proposal) -> SafeString:
        address = reverse("planning-week", args=[monday_of(record.due).isoformat()])
        return format_html('<a href="{}">{}</a>', address, when(record.due))

    def render_number(self, record: Proposal) -> SafeString:
        """So many of those that it might be, which have their day and their early window in common."""
        opens = record.earliest.isoformat()
        address = asked_at(record.due, record.due, which="first", visit="without", opens=opens)
        out_of = counted_at(address, record.out_of)
        return format_html("{} of {}", record.number, out_of)

    def render_on(self, record: Proposal) -> SafeString:
        return when(record.on)

    def render_earliest(self, record: Proposal) -> SafeString:
        return when(record.earliest)


class BlockColumn(tables.Column):
    """How often a line is asked for in its n-th quarter of a year, leading to each time."""

    def __init__(self, n: int, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.n = n

    def render(self, value: int, record: Kind, table: Any) -> SafeString | int:
        weeks = timedelta(weeks=WEEKS_IN_A_BLOCK)
        since = table.first + self.n * weeks
        until = since + weeks - timedelta(days=1)
        return counted_at(asked_at(since, until, **{table.by: record.key}), value)


class KindTable(tables.Table):
    """Six quarters of thirteen weeks each."""

    name = tables.Column("Kind")
    total = tables.Column("Eighteen months", attrs=NUMBER)

    class Meta:
        orderable = False
        empty_text = "Nothing falls due in the next eighteen months."

    empty_head = "Nothing falls due"

    def __init__(self, *args: Any, head: str, caption: str, by: str, first: date, **kwargs: Any) -> None:
        """by: under which name its lines narrow what is asked for; first: the Monday of the first week"""
        self.by, self.first = by, first
        blocks = WEEKS // WEEKS_IN_A_BLOCK
        extra = [
            (f"block{n}", BlockColumn(n, verbose_name=self.head_of(n), accessor=f"blocks__{n}", attrs=NUMBER))
            for n in range(blocks)
        ]
        sequence = ("name", *(name for name, _ in extra), "total")
        super().__init__(*args, extra_columns=extra, sequence=sequence, **kwargs)
        self.columns["name"].column.verbose_name = head
        self.caption = caption

    @staticmethod
    def head_of(n: int) -> str:
        return f"Weeks {n * WEEKS_IN_A_BLOCK + 1} to {(n + 1) * WEEKS_IN_A_BLOCK}"

    def in_file(self) -> InFile:
        blocks = range(WEEKS // WEEKS_IN_A_BLOCK)
        heads = {f"block{n}": ((self.head_of(n), f"blocks__{n}"),) for n in blocks}
        return {**heads, "total": (("Eighteen months", "total"),)}

    def render_total(self, record: Kind) -> SafeString | int:
        return counted_at(asked_at(None, None, **{self.by: record.key}), record.total)


class AskedTable(tables.Table):
    """Takes ``AskedDay``s."""

    day = tables.Column("Asked for on")
    structure = tables.Column(empty_values=())
    demand = tables.Column(accessor="owed__row__demand")
    author = tables.Column("Whose rule", accessor="owed__row__author")
    due = tables.Column(accessor="owed__row__due")
    planned = tables.Column(empty_values=())

    row_head = "structure"
    caption = "Each obligation on each day on which it is asked for"

    class Meta:
        orderable = False

    def __init__(self, *args: Any, plans_in: Container[int], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.plans_in = plans_in

    def in_file(self) -> InFile:
        return {
            "day": (("Asked for on", "day"), ("Again", "again")),
            "structure": (("Structure", "owed__row__structure__name"), ("Site", "owed__row__site__name"),
                          ("Client", "owed__row__client__name")),
            "demand": (("Demand", "owed__row__demand"), ("Points concerned, number", "owed__row__points"),
                       ("Parts concerned, number", "owed__row__parts")),
            "author": (("Whose rule", "owed__row__author"), ("Source", "owed__row__rule__source"),
                       ("Edition", "owed__row__rule__edition")),
            "due": (("Due", "owed__row__due"), ("In words", lambda asked: asked.owed.words)),
            "planned": (("Planned for", lambda asked: None if asked.again else asked.owed.visit_on),),
        }  # fmt: skip

    def render_day(self, record: AskedDay) -> SafeString:
        if not record.again:
            return when(record.day)
        return format_html('{}<span class="second">again</span>', when(record.day))

    def render_structure(self, record: AskedDay) -> SafeString:
        row = record.owed.row
        return structure_of(row.structure, row.site, row.client)

    def render_demand(self, record: AskedDay) -> SafeString | str:
        return demand_of(record.owed.row)

    def render_author(self, record: AskedDay) -> SafeString | str:
        return author_of(record.owed.row)

    def render_due(self, record: AskedDay) -> SafeString:
        return format_html(
            '{}<span class="second">{}</span>', linked_day(record.owed), obligation_state(record.owed)
        )

    def render_planned(self, record: AskedDay) -> SafeString | str:
        return "once it is due again" if record.again else plan_of(record.owed, plans_in=self.plans_in)


class WishTable(tables.Table):
    """Days on which those who answer for a structure would welcome a visit. Takes ``Wish``es."""

    from_day = Column("Wished for", by="from_day")
    structure = Column(by=(Natural("structure__name"), Natural("structure__site__name")), empty_values=())
    words = Column("In words", by="words")
    by = Column("By whom", by=Natural("by__name"))

    row_head = "structure"
    caption = "Days wished for, the next first"
    empty_head = "No day is wished for"
    empty_text = "Whoever answers for a structure can give days on its page."

    def in_file(self) -> InFile:
        return {
            "from_day": (("From", "from_day"), ("Until", "until_day")),
            "structure": (("Structure", "structure__name"), ("Site", "structure__site__name"),
                          ("Client", "structure__site__client__name")),
            "words": (("In words", "words"),),
            "by": (("By whom", "by__name"),),
        }  # fmt: skip

    def render_from_day(self, record: Wish) -> SafeString:
        return format_html("{} to {}", when(record.from_day), when(record.until_day))

    def render_structure(self, record: Wish) -> SafeString:
        site = record.structure.site
        return format_html(
            '<a href="{}">{}</a><span class="second">{} · {}</span>',
            reverse("structure", args=[record.structure_id]), record.structure.name, site.name, site.client.name,
        )  # fmt: skip


class PlannedVisitTable(tables.Table):
    """Visits with what is odd about their plan."""

    number = Column("Visit", by="number")
    structure = Column(by=(Natural("structure__name"), Natural("structure__site__name")), empty_values=())
    planned_on = Column("Planned for", by="planned_on")
    odd = Column("Noticed", by=lambda table: (table.odd_key, "planned_on"), empty_values=())
    state = Column(by=(by_rank("state", VisitState.values), "planned_on"))
    plan = Column("Plan", empty_values=())

    def __init__(
        self,
        *args: Any,
        head: str,
        odd: str,
        caption: str,
        empty: str,
        plans_in: Collection[int],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, exclude=() if plans_in else ("plan",), **kwargs)
        self.plans_in = plans_in
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
        if record.state != VisitState.PLANNED or record.firm_id not in self.plans_in:
            return ""
        return format_html(
            '<a href="{}">Change the plan<span class="visually-hidden"> of visit {}</span></a>',
            reverse("visit-change-plan", args=[record.pk]), record.number,
        )  # fmt: skip
