"""What is asked for in the eighteen months that planning looks at, one by one: the rows behind its numbers.

An obligation stands here on its due day and on each day on which it falls due again, as ``workload`` counts them.
"""

from bisect import bisect_right
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime
from itertools import accumulate

from django.db.models import Count, Exists, QuerySet

from inspections import due_list
from inspections.models import DueDate, IntervalRule
from inspections.standing_words import Listed, Owed
from inspections.workload import Repeats, opens_on, until_its_end, with_instrument, with_skill

Group = tuple[date, int | None, date | None]  # due day, rule, last day the rule asks


@dataclass(frozen=True, slots=True)
class AskedDay:
    """An obligation on one day on which it is asked for."""

    day: date
    owed: Owed[Listed]

    @property
    def again(self) -> bool:
        return self.day != self.owed.row.due


@dataclass(frozen=True, slots=True)
class Choice:
    """What of it is meant; None or "" for all.

    since, until: first and last day; skill: key of a skill; instrument: key of ``NEEDED``
    which: "first" for due days on record, "again" for those that follow; visit: "with" or "without" one planned
    opens: the first day of the early window
    """

    since: date | None = None
    until: date | None = None
    skill: str = ""
    instrument: str = ""
    which: str = ""
    visit: str = ""
    opens: date | None = None


class AskedDays:
    """By day, then due day, then key. Grouped in two queries; a page is fetched in two more.

    owed: obligations ``with_today``
    """

    def __init__(self, owed: QuerySet[DueDate], at: datetime, choice: Choice) -> None:
        self.at = at
        self.rows = _narrowed(until_its_end(owed, at), choice)
        counts = list(self.rows.values_list("due", "rule", "applies_until").annotate(n=Count("pk")))
        rules = IntervalRule.objects.in_bulk({rule for _, rule, _, _ in counts if rule is not None})
        repeats = Repeats(rules, at)
        found: list[tuple[date, Group, int]] = []
        for due, rule, ends, number in counts:
            if choice.opens and opens_on(due, rules.get(rule)) != choice.opens:
                continue
            days = repeats.days(rule, due, ends)
            found += [(day, (due, rule, ends), number) for day in days if _meant(day, due, choice)]
        self.groups = sorted(
            found, key=lambda each: (each[0], each[1][0], each[1][1] or 0, each[1][2] or date.max)
        )
        self.ends = list(accumulate(number for _, _, number in self.groups))

    @property
    def total(self) -> int:
        return self.ends[-1] if self.ends else 0

    def fetch(self, start: int, stop: int) -> list[AskedDay]:
        """Rows start to stop."""
        stop = min(stop, self.total)
        if start >= stop:
            return []
        first, last = bisect_right(self.ends, start), bisect_right(self.ends, stop - 1)
        touched = self.groups[first : last + 1]
        keys = self._keys({group for _, group, _ in touched})
        begin = self.ends[first] - touched[0][2]
        wanted = [(day, pk) for day, group, _ in touched for pk in keys[group]][start - begin : stop - begin]
        pks = {pk for _, pk in wanted}
        shown = due_list.standing_by_key(DueDate.objects.filter(pk__in=pks), self.at)
        # One that was reckoned anew meanwhile is another row now.
        return [AskedDay(day, shown[pk]) for day, pk in wanted if pk in shown]

    def _keys(self, groups: set[Group]) -> dict[Group, list[int]]:
        rows = self.rows.filter(due__in={due for due, _, _ in groups}).order_by("due", "pk")
        found: dict[Group, list[int]] = defaultdict(list)
        for pk, due, rule, ends in rows.values_list("pk", "due", "rule", "applies_until"):
            found[due, rule, ends].append(pk)
        return found


def _meant(day: date, due: date, choice: Choice) -> bool:
    if choice.which and (day == due) != (choice.which == "first"):
        return False
    return (choice.since or day) <= day <= (choice.until or day)


def _narrowed(rows: QuerySet[DueDate], choice: Choice) -> QuerySet[DueDate]:
    if choice.skill:
        held, _, demand = choice.skill.partition("-")
        rows = with_skill(rows).filter(held=int(held), demand=demand)
    if choice.instrument:
        rows = with_instrument(rows).filter(instrument=choice.instrument)
    if choice.visit:
        planned = Exists(due_list.settling_visits().order_by())
        rows = rows.filter(planned if choice.visit == "with" else ~planned)
    return rows
