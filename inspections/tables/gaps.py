"""What is still to be completed, each row with the next thing to do."""

import django_tables2 as tables
from django.urls import NoReverseMatch, reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from sites.exports.columns import InFile
from sites.models import ProtectionClass, Structure, TestPoint
from sites.tables.sorting import Column, Natural, by_rank


class StructureGapTable(tables.Table):
    """Structures with something missing. acts: (label, name of the address, query) of what the person may do"""

    name = Column(by=(Natural("name"), Natural("site__name")), verbose_name="Structure")
    site = Column(by=(Natural("site__name"), Natural("site__client__name"), Natural("name")))
    use = Column(by=(Natural("use"), Natural("name")))
    protection_class = Column(
        by=(by_rank("protection_class", ProtectionClass.values), Natural("name")), verbose_name="Class"
    )
    next = Column(empty_values=(), verbose_name="Next")

    row_head = "name"
    caption = "Structures with something missing, by client and site"

    def __init__(self, *args, acts: tuple[tuple[str, str, bool], ...] = (), **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.acts = acts

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
            (address, label, record.name)
            for label, name, by_query in self.acts
            if (address := address_of(name, record, by_query))
        ]
        links = links or [(reverse("structure", args=[record.pk]), "Open it", record.name)]
        return format_html_join(" · ", '<a href="{}">{}<span class="visually-hidden">: {}</span></a>', links)


def address_of(name: str, structure: Structure, by_query: bool) -> str:
    """Where the act on a structure is; empty where this installation has no such page."""
    try:
        if by_query:
            return f"{reverse(name, args=['interval'])}?structure={structure.pk}&firm={structure.site.client.firm_id}"
        return reverse(name, args=[structure.pk])
    except NoReverseMatch:
        return ""


class PointGapTable(tables.Table):
    """Points never read. may_plan: whether the person plans visits"""

    number = Column(by=("number_order", Natural("structure__name")), verbose_name="Point")
    structure = Column(by=(Natural("structure__name"), Natural("structure__site__name"), "number_order"))
    place = Column(by=(Natural("place"), "number_order"))
    quantity = Column(by=("quantity", "number_order"))
    next = Column(empty_values=(), verbose_name="Next")

    row_head = "number"
    caption = "Points never read, by client, site and structure"

    def __init__(self, *args, may_plan: bool = False, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.may_plan = may_plan

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
        name, label = ("plan-visit", "Plan a visit") if self.may_plan else ("structure", "Look at its visits")
        return format_html(
            '<a href="{}">{}<span class="visually-hidden"> for point {} of {}</span></a>',
            reverse(name, args=[record.structure_id]), label, record.number, record.structure.name,
        )  # fmt: skip
