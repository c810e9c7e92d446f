"""Tags and filters of the pages: states, figures and units, days, sizes, fields, grouped rows, navigation."""

from collections.abc import Callable, Iterator
from datetime import date, datetime
from itertools import groupby
from typing import Any, NamedTuple

from django import forms, template
from django.core.paginator import Paginator
from django.forms import BoundField
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django_tables2.paginators import LazyPaginator

from sites.navigation import BELONGS_TO, Entries, main_pages, more_pages
from sites.tables import understood
from sites.templatetags.figures import NO_BREAK_SPACE, file_size, true_minus, with_unit
from sites.templatetags.states import RECKONED, state_named

register = template.Library()
register.filter("minus", true_minus)
register.filter("with_unit", with_unit)
register.filter("size", file_size)


@register.simple_tag
def state(name: str, word: str = "", family: str = "") -> SafeString:
    """``{% state "overdue" "33 days overdue" %}``: shape, word and tone.

    word: the state's own name if left out; family: for the few names that stand in two families, and for what was
    reckoned, which is marked as such: whoever sees it can go to its working
    Raises: UnknownState
    """
    symbol, tone = state_named(name, family)
    return format_html(
        '<span class="{}"{}>{}<span>{}</span></span>',
        f"state {tone}".strip(),
        format_html(' data-figure="{}"', family) if family in RECKONED else "",
        shape(symbol),
        word or name,
    )


@register.simple_tag(takes_context=True)
def not_understood(context: template.Context) -> list[str]:
    """What of the page's address was not understood, for the first list that is drawn on it; none for the others."""
    request = context.get("request")
    found = understood.of_page(request) if request else {}
    sentences = list(found.values())
    found.clear()
    return sentences


@register.simple_tag
def shape(symbol: str) -> SafeString:
    """``{% shape "m-earth" %}``: a shape alone, beside words that say what it means."""
    return format_html('<svg class="shape" aria-hidden="true"><use href="#{}"/></svg>', symbol)


@register.simple_tag
def reading(text: Any, unit: str = "") -> SafeString:
    """``{% reading "5.11" "mΩ" %}``: the figure as displayed and its unit, aligned in a column.

    Raises: ValueError where there is no figure; a point not read shows its reason instead
    """
    if text is None or not str(text).strip():
        raise ValueError("A reading is never blank: where there is no figure, show the reason.")
    return format_html(
        '<span class="reading"><b>{}</b><span class="unit">{}{}</span></span>',
        true_minus(text),
        NO_BREAK_SPACE if unit else "",
        unit,
    )


@register.filter
def day(value: date) -> str:
    """A day as ``12 Mar 2027``; a moment is taken in the time zone in force.

    Raises: TypeError for anything that is not a date: where a day is not known the page says so in words
    """
    if isinstance(value, datetime) and timezone.is_aware(value):
        value = timezone.localtime(value)
    if not isinstance(value, date):
        raise TypeError(f"A day must be a date, not {value!r}; where it is not known, say “not known”.")
    return date_format(value, "j M Y")


@register.filter
def moment(value: datetime) -> str:
    """A moment as ``12 Mar 2027, 10:42`` in the time zone in force."""
    if not isinstance(value, datetime):
        raise TypeError(f"A moment must be a date with a time, not {value!r}.")
    return date_format(timezone.localtime(value) if timezone.is_aware(value) else value, "j M Y, H:i")


@register.simple_tag
def when(value: date) -> SafeString:
    """``{% when visit.day %}``: the day, or the moment, as one unbroken ``<time>``."""
    words = moment(value) if isinstance(value, datetime) else day(value)
    return format_html('<time class="nb" datetime="{}">{}</time>', value.isoformat(), words)


CONTROL_CLASSES: tuple[tuple[type[forms.Widget], str], ...] = (
    (forms.CheckboxInput, "form-check-input"),
    (forms.Select, "form-select"),
)


@register.filter
def control(field: BoundField, extra: str = "") -> SafeString:
    """The field's widget with the look's classes; Django adds ``aria-invalid`` and ``aria-describedby``."""
    widget = field.field.widget
    own = next((name for kind, name in CONTROL_CLASSES if isinstance(widget, kind)), "form-control")
    return field.as_widget(attrs={"class": " ".join(filter(None, (own, widget.attrs.get("class"), extra)))})


@register.filter
def lone_choice(field: BoundField) -> bool:
    """Whether the field is one box to tick, whose label stands behind it."""
    return isinstance(field.field.widget, forms.CheckboxInput)


class RowGroup(NamedTuple):
    """Rows of one page under one head; total: of the whole list where the table knows it, else None."""

    head: str | None
    total: int | None
    rows: list[Any]


@register.simple_tag
def row_groups(table: Any) -> list[RowGroup]:
    """The rows of the table's page, grouped where the table has ``group_of`` (and ``group_counts``).

    Sorted by one of its columns it has no groups: what belongs together then stands apart.
    """
    rows = list(table.paginated_rows)
    group_of: Callable[[Any], str] | None = getattr(table, "group_of", None)
    is_sorted = bool(getattr(table, "sorted_by", ""))
    if group_of is None or is_sorted:
        return [RowGroup(None, None, rows)] if rows else []
    counts = getattr(table, "group_counts", None) or {}
    return [
        RowGroup(head, counts.get(head), list(members))
        for head, members in groupby(rows, key=lambda row: group_of(row.record))
    ]


@register.simple_tag
def page_words(table: Any) -> str:
    """``Page 2 of 9``, or ``Page 2`` where the length of the list is not counted."""
    paginator: Paginator = table.paginator
    if isinstance(paginator, LazyPaginator):
        return f"Page {table.page.number}"
    return f"Page {table.page.number} of {paginator.num_pages}"


class Entry(NamedTuple):
    label: str
    url: str
    current: bool


def _known(entries: Entries) -> Iterator[tuple[str, str]]:
    """Label and address of each entry whose page this installation has."""
    for label, name in entries:
        try:
            yield label, reverse(name)
        except NoReverseMatch:
            continue


@register.simple_tag(takes_context=True)
def navigation(context: template.Context, place: str = "main") -> list[Entry]:
    """The pages for whoever is signed in, nothing for others. place: "main" for the top line, "more" for the foot

    The current one is the longest address that the page's own begins with; ``/`` is current only itself.
    """
    request = context.get("request")
    if request is None or not getattr(getattr(request, "user", None), "is_authenticated", False):
        return []
    roles = frozenset(context.get("roles") or ())
    pages = list(_known(main_pages(roles) if place == "main" else more_pages(roles)))
    here = [url for _, url in pages if request.path == url or request.path.startswith(url.rstrip("/") + "/")]
    here = [url for url in here if url != "/" or request.path == "/"]
    nearest = max(here, key=len, default=None)
    home = BELONGS_TO.get(request.path.strip("/").split("/")[0])
    return [Entry(label, url, url == nearest or label == home) for label, url in pages]
