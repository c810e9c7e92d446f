"""Every rule that stands on a structure, as bars on one axis of time: from when it is counted until it is due."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Q
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inspections import svg
from inspections.actions.due import applies
from inspections.models import IntervalRule
from inspections.rules.due_dates.calendar_arithmetic import in_words
from inspections.standing_words import Owed
from sites.models import Structure

WIDTH = 240.0
HEIGHT = 38.0
MOST_YEARS_NAMED = 6


@dataclass(frozen=True, slots=True)
class Wall:
    """One axis and where each obligation begins on it. starts: by the due date's id"""

    first: date
    last: date
    today: date
    starts: dict[int, date]

    def x(self, day: date) -> float:
        span = (self.last - self.first).days or 1
        return WIDTH * min(max((day - self.first).days / span, 0), 1)

    @property
    def years(self) -> list[date]:
        """Beginnings of years on the axis; of many only some."""
        found = [date(year, 1, 1) for year in range(self.first.year + 1, self.last.year + 1)]
        return found[:: max(1, -(-len(found) // MOST_YEARS_NAMED))]

    def _named(self, year: date) -> SafeString:
        middle = max(min(self.x(year), WIDTH - 15), 15)
        return svg.text(middle, HEIGHT - 2, str(year.year), "q", "middle")

    def bar(self, owed: Owed) -> SafeString:
        """One rule's bar: solid where it governs, outlined where not; what its author allows, dashed."""
        row = owed.row
        start = min(self.starts.get(row.pk, row.due), row.due)
        left, right = self.x(start), self.x(row.due)
        ticks = "".join(f"M{svg.place(self.x(year))} 13v9" for year in self.years)
        parts = [
            svg.path("hair", f"M0 17.5H{svg.place(WIDTH)}{ticks}", 1),
            _box("fill-ink" if row.governs else "soft", left, right),
            svg.path("rule", f"M{svg.place(right)} 5v16", 2),
            svg.path("rule", f"M{svg.place(self.x(self.today))} 0v24", 1, "2 2"),
            *(self._named(year) for year in self.years),
        ]
        words = f"from {in_words(start)} to {in_words(row.due)}"
        if row.dispensation_id:
            until = self.x(row.grace_until)
            parts.append(svg.path("rule", f"M{svg.place(right)} 9H{svg.place(until)}V17", 1.5, "4 3"))
            words += f", allowed by its author until {in_words(row.grace_until)}"
        if row.governs:
            words += ", governs"
        return _drawing(HEIGHT, words, parts)


def wall(owed: Sequence[Owed], since: Mapping[str, date | None], today: date) -> Wall | None:
    """The axis that holds every obligation of a structure; None where there is none.

    since: the days they are counted from, by anchor
    """
    if not owed:
        return None
    starts = {each.row.pk: _start(each, since.get(each.row.anchor)) for each in owed}
    days = [today, *starts.values(), *(each.row.due for each in owed)]
    days += [each.row.grace_until for each in owed if each.row.dispensation_id]
    room = max((max(days) - min(days)) / 40, timedelta(days=15))
    return Wall(min(days), max(days) + room, today, starts)


def _start(owed: Owed, since: date | None) -> date:
    """The day it is counted from, else the day the rule was adopted; never after the due day."""
    row = owed.row
    return min(since or getattr(row.rule, "adopted_from", None) or row.due, row.due)


def silent(structure: Structure, owed: Sequence[Owed], today: date) -> list[IntervalRule]:
    """Adopted rules that stand on the structure and ask for nothing now: they begin later, or have been met."""
    asked = {each.row.rule_id for each in owed}
    site = structure.site
    rows = IntervalRule.objects.with_adoption().filter(
        Q(client__isnull=True) | Q(client=site.client_id),
        Q(site__isnull=True) | Q(site=site.pk),
        Q(structure__isnull=True) | Q(structure=structure.pk),
        Q(adopted_until__isnull=True) | Q(adopted_until__gte=today),
        firm=site.client.firm_id,
        adopted_from__isnull=False,
    )
    return [rule for rule in rows.order_by("pk") if rule.pk not in asked and applies(rule, structure)]


def _box(classes: str, left: float, right: float) -> SafeString:
    shape = '<rect class="{}" x="{}" y="9" width="{}" height="8"/>'
    return format_html(
        shape if classes == "fill-ink" else shape.replace("<rect ", '<rect fill="none" stroke-width="1.5" '),
        classes, svg.place(left), svg.place(max(right - left, 1)),
    )  # fmt: skip


def _drawing(height: float, words: str, parts: Sequence[SafeString]) -> SafeString:
    return format_html(
        '<svg class="year" width="{}" height="{}" viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>',
        svg.place(WIDTH), svg.place(height), svg.place(WIDTH), svg.place(height), words, svg.joined(parts),
    )  # fmt: skip
