"""What an event asks for: a complete or after-event inspection of every point and part within so many days.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Sequence
from datetime import date
from zoneinfo import ZoneInfo

from inspections.rules.due_dates.asking import Asked, last_left_on, left_out, what_is_left
from inspections.rules.due_dates.calendar_arithmetic import add_days, in_words, local_day
from inspections.rules.due_dates.coverage import EVENT_MET_BY, DayCovered, Inventory, histories, satisfying
from inspections.rules.due_dates.facts import Event


def asked_by_event(
    event: Event, visits: Sequence[DayCovered], owed: Inventory, on: date, zone: ZoneInfo
) -> list[Asked]:
    """One row for the points and parts not yet inspected on or after the event's day; none once all are.

    The days count from the event, whenever it was reported: an old strike reported late is born overdue.
    An event after `on` has not happened yet.
    """
    if event.on > on:
        return []
    found = histories(satisfying(visits, EVENT_MET_BY, since=event.on), owed)
    open_ = [history for history in found if not history.days]
    if not open_:
        return []
    due = add_days(event.on, event.inspect_within_days)
    why = f"Complete inspection after the {event.kind} of {in_words(event.on)}: {within(event.inspect_within_days)}."
    if event.recorded is not None and local_day(event.recorded, zone) > due:
        why += f" It was reported on {in_words(local_day(event.recorded, zone))}, when that day had passed."
    sums = f"{in_words(event.on)} + {_days(event.inspect_within_days)} = {in_words(due)}"
    return [
        Asked(
            event.id, "complete", what_is_left(open_, owed), due, due, why + left_out(open_),
            since=event.on, sums=(sums,), left_on=last_left_on(open_),
        )
    ]  # fmt: skip


def within(days: int) -> str:
    """How soon an event asks to be inspected, in words."""
    return "on the day itself" if days == 0 else f"within {_days(days)}"


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number} days"
