"""A year as a picture: what was done, is planned, falls due and is overdue, on one line of twelve months."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inspections import svg
from inspections.due_list import OPEN_VISIT, running
from inspections.models import DONE, DueDate, Visit
from inspections.models.due import anchor_of
from inspections.standing_words import working_at
from sites.models import Site
from sites.templatetags.downlead import day as in_words

WIDTH, HEIGHT, MONTH = 192, 26, 16
MOST_NAMED = 6
NOTHING = "nothing done, planned or due"


class Told(NamedTuple):
    """Where a day leads, and the name of the structure it is about."""

    address: str
    structure: str


Days = dict[date, list[Told]]


@dataclass(slots=True)
class Year:
    """The days of one site's year, each with what it is about. overdue: the due days of what is overdue now"""

    done: Days = field(default_factory=dict)
    planned: Days = field(default_factory=dict)
    due: Days = field(default_factory=dict)
    overdue: Days = field(default_factory=dict)

    @property
    def named(self) -> list[tuple[str, Days]]:
        kinds = (
            ("done", self.done),
            ("planned", self.planned),
            ("due", self.due),
            ("overdue, was due", self.overdue),
        )
        return [(name, days) for name, days in kinds if days]

    def words(self) -> str:
        """What the picture shows, for those who do not see it."""
        parts = [
            f"{name} {_listed(days, [in_words(one) for one in sorted(days)])}" for name, days in self.named
        ]
        return "; ".join(parts) or NOTHING

    def linked(self) -> SafeString | str:
        """The same words, each day leading to its visit or to how it comes about."""
        parts = [
            format_html("{} {}", name, _listed(days, [_day_of(one, days[one]) for one in sorted(days)]))
            for name, days in self.named
        ]
        return format_html_join("; ", "{}", ((part,) for part in parts)) if parts else NOTHING


def _day_of(day: date, told: Iterable[Told]) -> SafeString:
    """The day as a link; where it is about several structures, the others by their names behind it."""
    first, *others = sorted(set(told), key=lambda one: (one.structure, one.address))
    lead = format_html(
        '<a href="{}">{}<span class="visually-hidden">, {}</span></a>', first.address, in_words(day), first.structure
    )  # fmt: skip
    named = ((one.address, "again" if one.structure == first.structure else one.structure) for one in others)
    links = [lead, *(format_html('<a href="{}">{}</a>', address, words) for address, words in named)]
    return format_html_join(" and ", "{}", ((link,) for link in links))


def _listed(days: Days, named: Sequence[str]) -> SafeString:
    more = len(days) - MOST_NAMED
    shown = format_html_join(", ", "{}", ((one,) for one in named[:MOST_NAMED]))
    return format_html("{} and {} more days", shown, more) if more > 0 else shown


def years_of(
    sites: Sequence[Site], owed: QuerySet[DueDate], visits: QuerySet[Visit], year: int, at: datetime
) -> dict[int, Year]:
    """By site, in three queries. owed: obligations ``with_today``; visits: those the person sees"""
    found = {site.pk: Year() for site in sites}
    zones = {site.pk: ZoneInfo(site.time_zone) for site in sites}
    first, last = date(year, 1, 1), date(year, 12, 31)
    rows: Any = running(owed).filter(site__in=found, due__range=(first, last)).order_by()
    asked = ("rule_id", "event_id", "suspension_id")
    for site, due, grace, structure, name, *by in rows.values_list(
        "site", "due", "grace_until", "structure_id", "structure__name", *asked
    ):
        late = grace < at.astimezone(zones[site]).date()
        rule, event, suspension = by
        address = working_at(structure, anchor_of(rule, event, suspension, due))
        _add(found[site].overdue if late else found[site].due, due, address, name)
    of_sites = visits.filter(structure__site__in=found).order_by()
    stands = of_sites.filter(state__in=OPEN_VISIT, planned_on__range=(first, last))
    for site, name, pk, planned in stands.values_list(
        "structure__site", "structure__name", "pk", "planned_on"
    ):
        _add(found[site].planned, planned, reverse("visit", args=[pk]), name)
    ended: Any = of_sites.filter(state__in=DONE, on_site_until__year__range=(year - 1, year + 1))
    for site, name, pk, until in ended.values_list(
        "structure__site", "structure__name", "pk", "on_site_until"
    ):
        local = until.astimezone(zones[site]).date()
        if first <= local <= last:
            _add(found[site].done, local, reverse("visit", args=[pk]), name)
    return found


def _add(days: Days, day: date, address: str, structure: str) -> None:
    """Once for each page that it leads to: one page has all due days of a structure."""
    told, page = days.setdefault(day, []), address.partition("#")[0]
    if all(one.address.partition("#")[0] != page for one in told):
        told.append(Told(address, structure))


def picture(found: Year, year: int, today: date) -> SafeString:
    """Dot done, ring planned, upright due, upright with point overdue, dotted line today."""
    months = "".join(f"M{MONTH * n + 0.5} 6v14" for n in range(1, 12))
    parts = [
        svg.path("soft", "M.5 5.5h191v15H.5z", 1),
        svg.path("hair", months, 1),
        *(svg.path("rule", f"M{svg.place(_x(today))} 0v26", 2, "2 2") for _ in range(today.year == year)),
        *(_upright("fill-ink", one) for one in sorted(found.due)),
        *(_upright("fill-act", one, point=True) for one in sorted(found.overdue)),
        *(_round("fill-order", one, 4.5) for one in sorted(found.done)),
        *(_round("rule fill-sheet", one, 3.8) for one in sorted(found.planned)),
    ]
    return format_html(
        '<svg class="year" width="{}" height="{}" viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>',
        WIDTH, HEIGHT, WIDTH, HEIGHT, found.words(), svg.joined(parts),
    )  # fmt: skip


def _x(day: date) -> float:
    return (day.month - 1) * MONTH + (day.day - 0.5) / 31 * MONTH


def _upright(classes: str, day: date, *, point: bool = False) -> SafeString:
    x = _x(day)
    d = f"M{svg.place(x - 1.5)} 3h3v20h-3z"
    if point:
        d += f"M{svg.place(x + 2.5)} 9l5 4-5 4z"
    return format_html('<path class="{}" d="{}"/>', classes, d)


def _round(classes: str, day: date, radius: float) -> SafeString:
    return format_html(
        '<circle class="{}" stroke-width="1.75" cx="{}" cy="13" r="{}"/>',
        classes, svg.place(_x(day)), svg.place(radius),
    )  # fmt: skip
