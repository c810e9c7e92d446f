"""What a search of the register found."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections.register_search import CLIENT, KINDS, POINT, SITE, STRUCTURE, Found
from sites.exports.columns import InFile

PAGES = {CLIENT: "client", SITE: "site", STRUCTURE: "structure", POINT: "point"}


class FoundTable(tables.Table):
    """Takes rows from ``register_search.page_of_found``."""

    name = tables.Column(empty_values=(), verbose_name="Found")
    what = tables.Column(empty_values=(), verbose_name="What it is")
    where = tables.Column(empty_values=(), verbose_name="Where")

    row_head = "name"
    caption = "What the register has under these words"

    class Meta:
        orderable = False

    def in_file(self) -> InFile:
        return {
            "name": (("Name or number", _name), ("Was number", "once")),
            "what": (
                ("What it is", lambda found: KINDS[found.kind]),
                ("Place", "row__place"),
                ("Retired on", "row__retired_on"),
            ),
        }

    def render_name(self, record: Found) -> SafeString:
        name = f"Point {record.row.number}" if record.kind == POINT else _name(record)
        once = format_html('<span class="second">was {}</span>', record.once) if record.once else ""
        return format_html(
            '<a href="{}">{}</a>{}', reverse(PAGES[record.kind], args=[record.row.pk]), name, once
        )

    def render_what(self, record: Found) -> SafeString | str:
        if record.kind != POINT:
            return KINDS[record.kind]
        retired = ", retired" if record.row.retired_on else ""
        return format_html('test point{}<span class="second">{}</span>', retired, record.row.place)

    def render_where(self, record: Found) -> str:
        row = record.row
        if record.kind == CLIENT:
            return "a client"
        if record.kind == SITE:
            return str(row.client.name)
        structure = row if record.kind == STRUCTURE else row.structure
        above = f"{structure.site.client.name} › {structure.site.name}"
        return above if record.kind == STRUCTURE else f"{above} › {structure.name}"


def _name(found: Found) -> str:
    return str(found.row.number if found.kind == POINT else found.row.name)
