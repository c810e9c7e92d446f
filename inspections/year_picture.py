"""A year as a picture: what was done, is planned, falls due and is overdue, on one line of twelve months."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import svg
from inspections.due_list import OPEN_VISIT, running
from inspections.models import DONE, DueDate, Visit
from sites.models import Site
from sites.templatetags.downlead import day as in_words

WIDTH, HEIGHT, MONTH = 192, 26, 16
MOST_NAMED = 6


@dataclass(slots=True)
class Year:
    """The days of one site's year, each once."""

    done: set[date] = field(default_factory=set)
    planned: set[date] = field(default_factory=set)
    due: set[date] = field(default_factory=set)
    overdue: set[date] = field(default_factory=set)

    def words(self) -> str:
        """What the picture shows, for those who do not see it and for those who do."""
        parts = [
            f"{name} {_named(days)}"
            for name, days in (
                ("done", self.done), ("planned", self.planned), ("due", self.due), ("overdue since", self.overdue),
            )
            if days
        ]  # fmt: skip
        return "; ".join(parts) or "nothing done, planned or due"


def _named(days: Iterable[date]) -> str:
    ordered = sorted(days)
    more = len(ordered) - MOST_NAMED
    named = ", ".join(in_words(one) for one in ordered[:MOST_NAMED])
    return f"{named} and {more} more days" if more > 0 else named


def years_of(
    sites: Sequence[Site], owed: QuerySet[DueDate], visits: QuerySet[Visit], year: int, at: datetime
) -> dict[int, Year]:
    """By site, in three queries. owed: obligations ``with_today``; visits: those the person sees"""
    found = {site.pk: Year() for site in sites}
    zones = {site.pk: ZoneInfo(site.time_zone) for site in sites}
    first, last = date(year, 1, 1), date(year, 12, 31)
    rows: Any = running(owed).filter(site__in=found, due__range=(first, last)).order_by()
    today = {pk: at.astimezone(zone).date() for pk, zone in zones.items()}
    for site, due, grace in rows.values_list("site", "due", "grace_until").distinct():
        (found[site].overdue if grace < today[site] else found[site].due).add(due)
    of_sites = visits.filter(structure__site__in=found).order_by()
    stands = of_sites.filter(state__in=OPEN_VISIT, planned_on__range=(first, last))
    for site, planned in stands.values_list("structure__site", "planned_on").distinct():
        found[site].planned.add(planned)
    ended = of_sites.filter(state__in=DONE, on_site_until__year__range=(year - 1, year + 1))
    moments: Any = ended.values_list("structure__site", "on_site_until").distinct()
    for site, until in moments:
        local = until.astimezone(zones[site]).date()
        if first <= local <= last:
            found[site].done.add(local)
    return found


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
