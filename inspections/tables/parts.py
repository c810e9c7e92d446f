"""Tables of parts and of a part's points."""

from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.db.models import FloatField, Value
from django.db.models.functions import Cast, NullIf
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inspections.part_lists import PartRow
from sites.exports.columns import InFile
from sites.models import TestPoint
from sites.tables.sorting import Column, Natural
from sites.templatetags.downlead import when
from sites.templatetags.figures import with_unit

RIGHT: dict[str, Any] = {"td": {"class": "n"}, "th": {"class": "n"}}
NOT_KNOWN = "not known"


def _figure(value: Decimal | None, unit: str) -> str:
    return NOT_KNOWN if value is None else with_unit(f"{value:f}", unit)


class PartsTable(tables.Table):
    """Takes parts from ``part_lists.page_of_parts``."""

    name = Column(by=Natural("name"), accessor="part__name", verbose_name="Part")
    material = Column(
        by=(NullIf("material", Value("")), Natural("name")), accessor="part__material", empty_values=()
    )
    length = Column(
        by=Cast("length_m", FloatField()), accessor="part__length_m", empty_values=(), attrs=RIGHT
    )
    section = Column(
        by=Cast("section_mm2", FloatField()), accessor="part__section_mm2", empty_values=(), attrs=RIGHT
    )
    points = Column(by=("point_count", Natural("name")), attrs=RIGHT)

    row_head = "name"
    caption = "Parts, by system"

    class Meta:
        attrs = {"class": "rows folds tight"}

    def group_of(self, record: PartRow) -> str:
        return str(record.part.system.name)

    def in_file(self) -> InFile:
        return {
            "name": (("System", "part__system__name"), ("Part", "part__name"), ("Kind", "part__kind")),
            "material": (("Material", "part__material"),),
            "length": (("Length [m]", "part__length_m"),),
            "section": (
                ("Section [mm²]", "part__section_mm2"),
                ("Diameter [mm]", "part__diameter_mm"),
                ("Section asks", lambda row: "; ".join(row.questions)),
            ),
        }

    def render_name(self, record: PartRow) -> SafeString:
        kind = record.part.get_kind_display()
        # Sorted by a column, the list has no heads that name the systems.
        return _part(record, f"{kind}, {record.part.system.name}" if getattr(self, "sorted_by", "") else kind)

    def render_material(self, record: PartRow) -> str:
        return record.part.material or NOT_KNOWN

    def render_length(self, record: PartRow) -> str:
        return _figure(record.part.length_m, "m")

    def render_section(self, record: PartRow) -> SafeString | str:
        figure = _figure(record.part.section_mm2, "mm²")
        return (
            format_html('{}<span class="second">asks a question</span>', figure)
            if record.questions
            else figure
        )


class AskingTable(tables.Table):
    """Takes parts from ``part_lists.page_of_asking``."""

    name = tables.Column(accessor="part__name", verbose_name="Part")
    question = tables.Column(empty_values=())

    row_head = "name"
    caption = "Parts whose section asks a question, by structure"

    class Meta:
        orderable = False

    def group_of(self, record: PartRow) -> str:
        return str(record.part.structure.name)

    def in_file(self) -> InFile:
        return {
            "name": (
                ("Structure", "part__structure__name"),
                ("System", "part__system__name"),
                ("Part", "part__name"),
                ("Kind", "part__kind"),
            ),
            "question": (
                ("Material", "part__material"),
                ("Section [mm²]", "part__section_mm2"),
                ("Diameter [mm]", "part__diameter_mm"),
                ("Section asks", lambda row: "; ".join(row.questions)),
            ),
        }

    def render_name(self, record: PartRow) -> SafeString:
        return _part(record, f"{record.part.get_kind_display()}, {record.part.system.name}")

    def render_question(self, record: PartRow) -> SafeString:
        return format_html_join(
            "", '<span class="question d-block mt-0">{}</span>', ((each,) for each in record.questions)
        )


class PartPointsTable(tables.Table):
    """Takes points from ``part_lists.page_of_points``."""

    number = Column(by="number_order", verbose_name="Point")
    place = Column(by=Natural("place"))
    quantity = Column(by=("quantity", "number_order"), verbose_name="What is measured")
    since = Column(by=("since", "number_order"), verbose_name="To be read since")
    standing = Column(by=("retired_on", "number_order"), empty_values=(), verbose_name="Until")

    row_head = "number"
    caption = "Test points of this part in order of number"

    class Meta:
        attrs = {"class": "rows folds tight"}

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def in_file(self) -> InFile:
        return {
            "quantity": (("What is measured", "quantity"),),
            "since": (("To be read since", "since"),),
            "standing": (("Retired on", "retired_on"),),
        }

    def render_number(self, record: TestPoint) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("point", args=[record.pk]), record.number)

    def render_quantity(self, record: TestPoint) -> str:
        return record.get_quantity_display()

    def render_since(self, record: TestPoint) -> SafeString:
        return when(record.since)

    def render_standing(self, record: TestPoint) -> SafeString | str:
        if record.retired_on is None:
            return "further notice"
        word = "retired" if record.retired_on <= self.today else "to be retired"
        return format_html("{} {}", word, when(record.retired_on))


def _part(record: PartRow, second: str) -> SafeString:
    return format_html(
        '<a href="{}">{}</a><span class="second">{}</span>',
        reverse("part", args=[record.part.pk]), record.part.name, second,
    )  # fmt: skip
