"""From which day on an inspection counts for a due day, so that one done early loses nothing.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Sequence
from datetime import date

from inspections.rules.due_dates.calendar_arithmetic import (
    MONTHS_IN_PERIOD,
    add_days,
    add_months,
    last_day_of_month,
)


def opens(
    due: date,
    *,
    basis: str | None,
    early_days: int = 0,
    period: str | None = None,
    seasons: Sequence[Sequence[int]] = (),
) -> date:
    """The first day on which an inspection counts for this due day, itself included.

    basis: None where no rule asks (an event, a return to use): the day itself
    By season it is the season's first day, by calendar period the period's: a visit before that belongs to no season,
    or to the period before, however many early days the rule has. A due day that is no season's last day (a first
    due day, or the day of adoption) has its early days only. Where two seasons end on one day, the later one's
    first day, since a visit from then on lies in both.
    """
    if basis == "season" and (begins := _season_begins(due, seasons)):
        return begins
    if basis == "calendar-period" and period in MONTHS_IN_PERIOD:
        after, length = add_days(due, 1), MONTHS_IN_PERIOD[period]
        if after.day == 1 and (after.month - 1) % length == 0:
            return add_months(after, -length)
    return add_days(due, -early_days)


def _season_begins(due: date, seasons: Sequence[Sequence[int]]) -> date | None:
    if due != last_day_of_month(due.year, due.month):
        return None
    first = due.replace(day=1)
    ending = [add_months(first, 1 - len(season)) for season in seasons if season and season[-1] == due.month]
    return max(ending, default=None)
