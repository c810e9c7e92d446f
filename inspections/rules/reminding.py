"""What a day's reminder tells: everything, only what presses, only what came since the last one, or nothing.

Nobody who answers for a place can choose never to hear that something is overdue or dangerous: by the week it comes
in that week's letter, and at once on the first day; who wants only what presses gets it every day. A plan silences
nothing. Pure decisions about days. Units: civil days, weekdays 0 (Monday) to 6. Valid for any days. Source: this
product's rules (common practice, no published source).
"""

from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Telling:
    """soon: also what is due, in grace or due soon; since: only what became overdue or dangerous after that day"""

    soon: bool
    since: date | None = None


def telling(
    day: date, *, rhythm: str, weekday: int | None, last_whole: date | None, last: date | None
) -> Telling:
    """What the letter of a day tells.

    rhythm: daily, weekly or pressing; weekday: of the weekly one; last_whole, last: the days of the latest letter that
    told everything, and of the latest at all
    The weekly letter comes on its weekday, or on the first day after it on which reminders are sent at all.
    """
    if rhythm == "pressing":
        return Telling(soon=False)
    if rhythm == "weekly" and weekday is not None and last_whole is not None:
        turn = day - timedelta(days=(day.weekday() - weekday) % 7)
        if last_whole >= turn:
            return Telling(soon=False, since=max(last_whole, last or last_whole))
    return Telling(soon=True)
