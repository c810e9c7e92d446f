"""How an obligation stands on a day, from its stored due days alone.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

State = Literal["not yet due", "due soon", "due", "in grace", "overdue", "suspended", "no longer applies"]

DUE_SOON_DAYS = 60
ONE_DAY = timedelta(days=1)

Window = tuple[date, date | None]
"""First and last day, both included; None is open-ended."""


@dataclass(frozen=True, slots=True)
class Standing:
    """State on a day; both others are None unless overdue, or overdue when a suspension began."""

    state: State
    overdue_since: date | None = None
    days_overdue: int | None = None


def state_on(
    day: date,
    *,
    due: date,
    grace_until: date,
    suspended_since: date | None = None,
    adopted_until: date | None = None,
) -> Standing:
    """State of one obligation on a civil day of the site's zone.

    due, grace_until: as stored; neither day itself is overdue, the day after grace_until is the first
    suspended_since: first day of the suspension in force on `day`; None if there is none
    adopted_until: the last day the rule asks, None while it has no end
    "due soon" is 60 days or fewer to go. While suspended the count of overdue days stands at the day before
    the suspension began to work; once it is over, the count runs from overdue_since again without a gap.
    """
    if adopted_until is not None and day > adopted_until:
        return Standing("no longer applies")
    if suspended_since is not None:
        counted = (suspended_since - grace_until).days - 1
        return Standing("suspended", grace_until + ONE_DAY, counted) if counted > 0 else Standing("suspended")
    if day > grace_until:
        return Standing("overdue", grace_until + ONE_DAY, (day - grace_until).days)
    if day > due:
        return Standing("in grace")
    if day == due:
        return Standing("due")
    return Standing("due soon" if (due - day).days <= DUE_SOON_DAYS else "not yet due")


def suspended_since(day: date, windows: Iterable[Window]) -> date | None:
    """First day of the unbroken stretch of suspension that contains the day; None outside every one.

    windows: the days on which each suspension works; overlapping and adjoining ones make one stretch
    """
    first: date | None = None
    for start, end in sorted(windows, key=lambda window: window[0], reverse=True):
        if first is None:
            contains = start <= day and (end is None or end >= day)
        else:
            contains = end is None or (first - end).days <= 1
        if contains:
            first = start
    return first
