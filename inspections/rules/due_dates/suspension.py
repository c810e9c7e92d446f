"""When a suspension works, and the inspection it leaves on the return to use.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from zoneinfo import ZoneInfo

from inspections.rules.due_dates.asking import Asked, last_left_on, left_out, what_is_left
from inspections.rules.due_dates.calendar_arithmetic import add_days, in_words, local_day
from inspections.rules.due_dates.coverage import SATISFIED_BY, DayCovered, Inventory, histories, satisfying
from inspections.rules.due_dates.facts import Suspension
from inspections.rules.due_dates.standing import Window


def working_windows(suspensions: Iterable[Suspension], zone: ZoneInfo) -> list[Window]:
    """The days on which each works: from the later of `from` and the day recorded, to `until`.

    One recorded after its own end never works.
    """
    windows = []
    for suspension in suspensions:
        start = suspension.from_
        if suspension.recorded is not None:
            start = max(start, local_day(suspension.recorded, zone))
        if suspension.until is None or start <= suspension.until:
            windows.append((start, suspension.until))
    return windows


def asked_on_return(
    suspension: Suspension, visits: Sequence[DayCovered], owed: Inventory, on: date
) -> list[Asked]:
    """After the suspension: a complete inspection due the day after `until`, without grace.

    Met by visits on or after that day that satisfy `complete`; an earlier one saw a structure that stood
    out of use afterwards.
    """
    if not suspension.return_inspection or suspension.until is None or on <= suspension.until:
        return []
    due = add_days(suspension.until, 1)
    found = histories(satisfying(visits, SATISFIED_BY["complete"], since=due), owed)
    open_ = [history for history in found if not history.days]
    if not open_:
        return []
    ended = in_words(suspension.until)
    why = f"Complete inspection on the return to use: the suspension ended on {ended}."
    return [
        Asked(
            suspension.id, "complete", what_is_left(open_, owed), due, due, why + left_out(open_),
            since=suspension.until, sums=(f"{ended} + 1 day = {in_words(due)}",), left_on=last_left_on(open_),
        )
    ]  # fmt: skip
