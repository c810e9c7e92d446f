"""Tables of places: sites, structures at a site, points of a structure, whose rules stand on it."""

from collections.abc import Collection
from datetime import date
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.db.models import Case, IntegerField, Value, When
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.models import Reading, Reason
from inspections.place_lists import SiteRow, StructureRow
from inspections.point_standing import stand_of
from inspections.rule_wall import Wall
from inspections.standing_words import Owed
from inspections.structure_record import PointRow
from inspections.tables.due import author_of, demand_of, due_day, linked_day, obligation_state
from inspections.tables.figures import displayed_number, seconds
from sites.exports.columns import InFile
from sites.tables.sorting import Column, Natural
from sites.templatetags.downlead import day, state, when
from sites.templatetags.downlead import reading as figure

NOTHING_OWED = "No obligation recorded"
NO_CLASS = "no protection class"


RIGHT: dict[str, Any] = {"td": {"class": "n"}, "th": {"class": "n"}}
# By consequence: above the limit, not found, not to be judged, not read, nothing entered, as it should be, retired.
POINT_STATES = Case(
    When(gone=1, then=Value(9)),
    When(last_outcome="above limit", then=Value(0)),
    When(last_reason=Reason.NOT_FOUND, then=Value(1)),
    When(last_outcome="cannot be judged", then=Value(2)),
    When(last_reason__isnull=False, then=Value(3)),
    When(last_at__isnull=True, then=Value(4)),
    When(last_outcome="for information", then=Value(5)),
    default=Value(6),
    output_field=IntegerField(),
)


class SitesTable(tables.Table):
    """Takes sites from ``place_lists.page_of_sites``."""

    name = Column(by=(Natural("name"), Natural("client__name")), accessor="site__name", verbose_name="Site")
    structures = Column(by="structure_count", verbose_name="Structures", attrs=RIGHT)
    overdue = Column(by="overdue_count", empty_values=())
    earliest = Column(by="earliest_due", empty_values=(), verbose_name="Earliest due")

    row_head = "name"
    caption = "Sites, by client"

    def group_of(self, record: SiteRow) -> SafeString:
        client = record.site.client
        return format_html('<a href="{}">{}</a>', reverse("client", args=[client.pk]), client.name)

    def in_file(self) -> InFile:
        return {
            "name": (
                ("Client", "site__client__name"),
                ("Site", "site__name"),
                ("Address", "site__address"),
                ("Time zone", "site__time_zone"),
            ),
            "structures": (("Structures", "structures"),),
            "overdue": (("Obligations overdue", "overdue"),),
            "earliest": (("Earliest due", "earliest__row__due"), ("State", "earliest__state")),
        }

    def render_name(self, record: SiteRow) -> SafeString:
        # Sorted by a column, the list has no heads that name the clients.
        alone = getattr(self, "sorted_by", "") and self.group_of is not None
        lines = [record.site.client.name] if alone else []
        lines += [record.site.address] if record.site.address else []
        return format_html(
            '<a href="{}">{}</a>{}', reverse("site", args=[record.site.pk]), record.site.name, seconds(lines)
        )

    def render_overdue(self, record: SiteRow) -> SafeString | str:
        number = record.overdue
        if not number:
            return "none overdue"
        address = f"{reverse('due')}?state=overdue&site={record.site.pk}"
        return format_html(
            '<a href="{}" data-rows="{}">{}</a>', address, number, state("overdue", f"{number} overdue")
        )

    def render_structures(self, record: SiteRow) -> SafeString:
        address = reverse("site", args=[record.site.pk])
        return format_html(
            '<a href="{}" data-rows="{}">{}</a>', address, record.structures, record.structures
        )

    def render_earliest(self, record: SiteRow) -> SafeString | str:
        return _due_and_state(record.earliest) if record.earliest else "nothing runs"


class ClientSitesTable(SitesTable):
    """The same for one client, whose name stands above."""

    caption = "Sites of this client"
    group_of = None  # type: ignore[assignment]  # one client needs no heads


class StructuresTable(tables.Table):
    """Takes structures from ``place_lists.page_of_structures``."""

    name = Column(by=Natural("name"), accessor="structure__name", verbose_name="Structure")
    state = Column(by=("next_due", Natural("name")), empty_values=(), verbose_name="Next due")
    demand = Column(by=("owed_demand", "owed_author"), empty_values=(), verbose_name="What, by whose rule")
    last_visit = Column(by="last_visit_at", empty_values=())
    points = Column(by="point_count", verbose_name="Points", attrs=RIGHT)

    row_head = "name"
    caption = "Structures of this site, the earliest due first"

    def __init__(self, *args, zone: ZoneInfo, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone

    def in_file(self) -> InFile:
        return {
            "name": (
                ("Structure", "structure__name"),
                ("Use", "structure__use"),
                ("Protection class", "structure__protection_class"),
                ("Height [m]", "structure__height_m"),
                ("Roof perimeter [m]", "structure__roof_perimeter_m"),
            ),
            "state": (("Next due", "owed__row__due"), ("State", "owed__state")),
            "demand": (("Demand", "owed__row__demand"), ("Whose rule", "owed__row__author")),
            "last_visit": (
                ("Last visit", lambda row: row.last_visit and row.last_visit.day_at(self.zone)),
                ("Number of last visit", "last_visit__number"),
                ("Kind of last visit", "last_visit__kind"),
            ),
        }

    def render_name(self, record: StructureRow) -> SafeString:
        place = record.structure
        return format_html(
            '<a href="{}">{}</a><span class="second">{} · {}</span>',
            reverse("structure", args=[place.pk]),
            place.name,
            place.use,
            NO_CLASS if place.protection_class == "none" else place.get_protection_class_display(),
        )

    def render_state(self, record: StructureRow) -> SafeString | str:
        if record.owed is None and record.none_required:
            return none_required(record.structure.pk)
        return _due_and_state(record.owed)

    def render_demand(self, record: StructureRow) -> SafeString | str:
        if record.owed is None:
            return "nothing asked"
        due = record.owed.row
        return format_html('{}<span class="second">{}</span>', due.demand.capitalize(), due.author)

    def render_last_visit(self, record: StructureRow) -> SafeString | str:
        visit = record.last_visit
        if visit is None:
            return "no visit yet"
        return format_html(
            '<a href="{}">{}</a><span class="second">visit {}, {}</span>',
            reverse("visit", args=[visit.pk]), day(visit.day_at(self.zone)), visit.number, visit.get_kind_display(),
        )  # fmt: skip


def none_required(structure: int) -> SafeString:
    """That somebody answers for it that none is required, leading to who and why."""
    reasons = reverse("structure", args=[structure]) + "#rules"
    return format_html(
        'No inspection required<span class="second"><a href="{}">who says so, and why</a></span>', reasons
    )


def _due_and_state(due: Owed | None) -> SafeString | str:
    if due is None:
        return format_html("<b>{}</b>", NOTHING_OWED)
    return format_html('{}<span class="second">{}</span>', obligation_state(due), linked_day(due))


class PointsTable(tables.Table):
    """Takes points from ``structure_record.page_of_points``."""

    number = Column(by="number_order", accessor="point__number", verbose_name="Point")
    place = Column(by=Natural("place"), accessor="point__place")
    quantity = Column(by=("quantity", "number_order"), accessor="point__quantity")
    reading = Column(by="last_ohm", empty_values=(), verbose_name="Last reading", attrs=RIGHT)
    state = Column(by=(POINT_STATES, "number_order"), empty_values=())
    at = Column(by="last_at", empty_values=(), verbose_name="When")

    row_head = "number"
    caption = (
        "Test points in order of number, retired ones last, each with its last reading or the reason for none"
    )

    class Meta:
        prefix = "points-"
        attrs = {"class": "rows folds tight"}

    def __init__(self, *args, zone: ZoneInfo, overdue: Collection[int] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone
        self.overdue = overdue

    def in_file(self) -> InFile:
        return {
            "quantity": (("Quantity", "point__quantity"), ("Retired on", "point__retired_on")),
            "reading": (
                ("Last reading", _displayed),
                ("As displayed", "last__text"),
                ("Unit", "last__unit"),
                ("Last reading [Ω]", "last__value_ohm"),
            ),
            "state": (
                ("Verdict", "last__verdict__outcome"),
                ("Cannot be judged because", "last__verdict__reason"),
                ("Not read because", "last__reason"),
                ("What stood in the way", "last__words"),
                ("Overdue", lambda row: "overdue" if row.point.pk in self.overdue else ""),
            ),
            "at": (
                ("Day", lambda row: row.last and row.last.at.astimezone(self.zone).date()),
                ("Visit", "last__visit__number"),
            ),
        }

    def render_number(self, record: PointRow) -> SafeString:
        return format_html(
            '<a href="{}">{}</a>', reverse("point", args=[record.point.pk]), record.point.number
        )

    def render_quantity(self, record: PointRow) -> str:
        return record.point.get_quantity_display()

    def render_reading(self, record: PointRow) -> SafeString | str:
        last = record.last
        if isinstance(last, Reading):
            return format_html(
                '{}<span class="second"><a href="{}">working<span class="visually-hidden"> of the verdict on '
                "point {}</span></a></span>",
                figure(last.text, last.unit),
                reverse("reading", args=[last.pk]),
                record.point.number,
            )
        return "not read"

    def render_state(self, record: PointRow) -> SafeString | str:
        stands = stand_of(record)
        shown = _with_words(state(stands.word, "", stands.family), stands.aside)
        late = record.point.pk in self.overdue
        return format_html('{}<span class="d-block">{}</span>', shown, state("overdue")) if late else shown

    def render_at(self, record: PointRow) -> SafeString | str:
        last = record.last
        if last is None:
            return "never"
        local: date = last.at.astimezone(self.zone).date()
        return format_html(
            '{}<span class="second"><a href="{}">visit {}</a></span>',
            when(local), reverse("visit", args=[last.visit_id]), last.visit.number,
        )  # fmt: skip


def _displayed(row: PointRow) -> Decimal | None:
    return displayed_number(row.last if isinstance(row.last, Reading) else None)


def _with_words(shown: SafeString, words: str) -> SafeString:
    return format_html('{}<span class="second">{}</span>', shown, words) if words else shown


class RulesTable(tables.Table):
    """Whose rule, and by when. Takes due dates from ``structure_record.obligations``."""

    author = tables.Column(accessor="row__author", verbose_name="Who demands it")
    demand = tables.Column(accessor="row__demand")
    bar = tables.Column(empty_values=(), verbose_name="Counted from, due", attrs={"td": {"class": "wall"}})
    due = tables.Column(accessor="row__due", verbose_name="Next date")
    state = tables.Column(empty_values=())
    why = tables.Column(accessor="row__why", verbose_name="Why this date")

    row_head = "author"
    caption = "Everything that is asked of this structure, by whom, and when"

    class Meta:
        orderable = False
        row_attrs = {"class": lambda record: "here" if record.row.governs else None}

    def __init__(self, *args, wall: Wall | None = None, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.wall = wall

    def render_bar(self, record: Owed) -> SafeString | str:
        return self.wall.bar(record) if self.wall else ""

    def render_author(self, record: Owed) -> SafeString | str:
        if record.row.rule is None:
            return record.row.author
        return format_html(
            '<a href="{}">{}</a><span class="second">adopted {}</span>',
            reverse("rule", args=["interval", record.row.rule_id]),
            author_of(record.row),
            _adopted(record.row.rule),
        )

    def render_demand(self, record: Owed) -> SafeString | str:
        return demand_of(record.row)

    def render_due(self, record: Owed) -> SafeString:
        row = record.row
        allowed = ""
        if row.dispensation is not None:
            words = f"dispensed until {day(row.grace_until)}: {row.dispensation.document}"
            allowed = format_html('<span class="second">{}</span>', words)
        if not row.governs:
            return format_html("{}{}", due_day(record), allowed)
        return format_html(
            '<b>{}</b><span class="second"><b>governs: the earliest</b></span>{}', linked_day(record), allowed
        )

    def render_state(self, record: Owed) -> SafeString:
        return obligation_state(record)


def _adopted(rule) -> str:
    until = f" to {day(rule.adopted_until)}" if rule.adopted_until else ""
    return f"{day(rule.adopted_from)}{until}" if rule.adopted_from else "no longer"
