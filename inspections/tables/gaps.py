"""What is still to be completed, each row with the next thing to do."""

from collections.abc import Mapping, Sequence

import django_tables2 as tables
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inspections.gaps import Way
from sites.exports.columns import InFile
from sites.models import ProtectionClass, Structure, TestPoint
from sites.tables.sorting import Column, Natural, by_rank

LOOK = Way("Look at its visits", "structure", frozenset())


class StructureGapTable(tables.Table):
    """Structures with something missing. ways: to be set for the sites of the page that is shown"""

    ways: Mapping[int, Sequence[Way]] = {}

    name = Column(by=(Natural("name"), Natural("site__name")), verbose_name="Structure")
    site = Column(by=(Natural("site__name"), Natural("site__client__name"), Natural("name")))
    use = Column(by=(Natural("use"), Natural("name")))
    protection_class = Column(
        by=(by_rank("protection_class", ProtectionClass.values), Natural("name")), verbose_name="Class"
    )
    next = Column(empty_values=(), verbose_name="Next")

    row_head = "name"
    caption = "Structures with something missing, by client and site"

    def in_file(self) -> InFile:
        return {"site": (("Site", "site__name"), ("Client", "site__client__name")), "next": ()}

    def render_name(self, record: Structure) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("structure", args=[record.pk]), record.name)

    def render_site(self, record: Structure) -> str:
        return f"{record.site.name}, {record.site.client.name}"

    def render_protection_class(self, record: Structure) -> str:
        return record.get_protection_class_display()

    def render_next(self, record: Structure) -> SafeString:
        links = [
            (address, way.label, record.name)
            for way in self.ways.get(record.site_id, ())
            if (address := address_of(way, record))
        ]
        links = links or [(reverse("structure", args=[record.pk]), "Open it", record.name)]
        return format_html_join(" · ", '<a href="{}">{}<span class="visually-hidden">: {}</span></a>', links)


def address_of(way: Way, structure: Structure) -> str:
    """Where a structure's gap is closed; empty where this installation has no such page."""
    try:
        if way.by_query:
            asks = f"structure={structure.pk}&firm={structure.site.client.firm_id}"
            return f"{reverse(way.address, args=['interval'])}?{asks}"
        return reverse(way.address, args=[structure.pk])
    except NoReverseMatch:
        return ""


class PointGapTable(tables.Table):
    """Points never read. ways: to be set for the sites of the page that is shown"""

    ways: Mapping[int, Sequence[Way]] = {}

    number = Column(by=("number_order", Natural("structure__name")), verbose_name="Point")
    structure = Column(by=(Natural("structure__name"), Natural("structure__site__name"), "number_order"))
    place = Column(by=(Natural("place"), "number_order"))
    quantity = Column(by=("quantity", "number_order"))
    next = Column(empty_values=(), verbose_name="Next")

    row_head = "number"
    caption = "Points never read, by client, site and structure"

    def in_file(self) -> InFile:
        return {
            "structure": (
                ("Structure", "structure__name"),
                ("Site", "structure__site__name"),
                ("Client", "structure__site__client__name"),
            ),
            "next": (),
        }

    def render_number(self, record: TestPoint) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("point", args=[record.pk]), record.number)

    def render_structure(self, record: TestPoint) -> SafeString:
        place = record.structure
        return format_html(
            '<a href="{}">{}</a><span class="second">{}, {}</span>',
            reverse("structure", args=[place.pk]), place.name, place.site.name, place.site.client.name,
        )  # fmt: skip

    def render_quantity(self, record: TestPoint) -> str:
        return record.get_quantity_display()

    def render_next(self, record: TestPoint) -> SafeString:
        way = next(iter(self.ways.get(record.structure.site_id, ())), LOOK)
        return format_html(
            '<a href="{}">{}<span class="visually-hidden"> for point {} of {}</span></a>',
            address_of(way, record.structure), way.label, record.number, record.structure.name,
        )  # fmt: skip
