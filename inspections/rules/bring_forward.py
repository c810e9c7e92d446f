"""What could be inspected earlier, so that no week has much more to do than the others.

A proposal lies inside the early window that its rule allows and never after the due day; it moves a plan, not a due
day. Units: civil days, weeks from Monday to Sunday, and counts. Valid for any days. Source: common practice, no
published source.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

WEEK = timedelta(weeks=1)


@dataclass(frozen=True, slots=True)
class Falling:
    """So many obligations that fall due on one day and may be met from one day on.

    earliest: the first day of the early window; the due day itself where the rule has none
    Raises: ValueError where the window ends before it begins, or for less than one obligation
    """

    earliest: date
    due: date
    number: int

    def __post_init__(self) -> None:
        if self.earliest > self.due or self.number < 1:
            raise ValueError("An early window ends with its due day, and holds at least one obligation.")


@dataclass(frozen=True, slots=True)
class Proposal:
    """Inspect so many of those due on that day from `on` on, in that day's own week.

    out_of: how many are due on that day with that early window; any of them may be taken
    """

    earliest: date
    due: date
    on: date
    number: int
    out_of: int


@dataclass(frozen=True, slots=True)
class Flattened:
    """level: what a week should hold at most; before, after: load by Monday; proposals by due day, then day"""

    level: int
    before: Mapping[date, int]
    after: Mapping[date, int]
    proposals: tuple[Proposal, ...]


def monday_of(day: date) -> date:
    """The first day of the day's week."""
    return day - timedelta(days=day.weekday())


def bring_forward(
    falling: Iterable[Falling], *, today: date, weeks: int, planned: Mapping[date, int] | None = None
) -> Flattened:
    """Take what is too much in a week to the nearest earlier week with room, inside the early windows.

    weeks: how many weeks are levelled, the current one first; the level is their mean, rounded up
    planned: visits that stand already, by Monday; they count and stay
    What is due before today or after the last week stays where it is.
    """
    first = monday_of(today)
    mondays = [first + WEEK * n for n in range(weeks)]
    groups = [each for each in falling if each.due >= today and monday_of(each.due) in set(mondays)]
    before = {monday: (planned or {}).get(monday, 0) for monday in mondays}
    for each in groups:
        before[monday_of(each.due)] += each.number
    level = max(1, -(-sum(before.values()) // max(weeks, 1)))
    after, proposals = dict(before), []
    for monday in reversed(mondays):
        # The narrowest window first: it has the fewest weeks to go to.
        for each in sorted(_due_in(groups, monday), key=lambda one: (one.earliest, one.due), reverse=True):
            proposals += _spread(each, monday, today, level, after)
    return Flattened(level, before, after, tuple(sorted(proposals, key=lambda one: (one.due, one.on))))


def _due_in(groups: Sequence[Falling], monday: date) -> list[Falling]:
    return [each for each in groups if monday_of(each.due) == monday]


def _spread(each: Falling, monday: date, today: date, level: int, load: dict[date, int]) -> list[Proposal]:
    """Moves what is too much of one group, and says how; changes the load."""
    found, left, begin = [], each.number, max(each.earliest, today)
    earlier = monday - WEEK
    while left and load[monday] > level and earlier >= monday_of(begin):
        number = min(left, load[monday] - level, level - load[earlier])
        if number > 0:
            load[monday] -= number
            load[earlier] += number
            left -= number
            found.append(Proposal(each.earliest, each.due, max(earlier, begin), number, each.number))
        earlier -= WEEK
    return found
