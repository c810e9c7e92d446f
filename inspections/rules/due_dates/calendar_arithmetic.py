"""Civil days: months counted from an anchor, days added, an instant's local day, periods of a year.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

import calendar
from collections.abc import Collection
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTHS_IN_PERIOD = {"year": 12, "half-year": 6, "quarter": 3}


class DayOutOfRange(ValueError):
    """A counted day lies outside the years 1 to 9999; asked_by: the id of the rule, event or suspension that counts."""

    asked_by = ""


def add_months(day: date, months: int) -> date:
    """The same day of the month `months` later (earlier if negative), clipped to that month's end.

    Clipping is lasting, so several steps are counted from the first day, not from each other:
    31 Aug 2023 + 6 is 29 Feb 2024 and 31 Aug 2023 + 12 is 31 Aug 2024. 29 Feb + 12 is 28 Feb.
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        way = "after" if months > 0 else "before"
        raise DayOutOfRange(f"{abs(months)} months {way} {in_words(day)} lies outside the years 1 to 9999.")
    if day.day <= 28:
        return date(year, month + 1, day.day)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def add_days(day: date, days: int) -> date:
    if not days:
        return day
    try:
        return day + timedelta(days=days)
    except OverflowError:
        way = "after" if days > 0 else "before"
        raise DayOutOfRange(
            f"{abs(days)} days {way} {in_words(day)} lies outside the years 1 to 9999."
        ) from None


def last_day_of_month(year: int, month: int) -> date:
    """month: 1 to 12"""
    if not 1 <= year <= 9999:
        raise DayOutOfRange(f"The year {year} lies outside the years 1 to 9999.")
    return date(year, month, calendar.monthrange(year, month)[1])


def month_end_after(day: date, months: int) -> date:
    """The last day of the month that lies `months` after the day's own month."""
    moved = add_months(day.replace(day=1), months)
    return last_day_of_month(moved.year, moved.month)


def local_day(instant: datetime, zone: ZoneInfo) -> date:
    """The civil day of an aware instant in the zone; 23:59:59 still belongs to the day, 00:00 to the next."""
    if instant.tzinfo is None:
        raise ValueError(f"The time {instant.isoformat()} has no offset; add one, such as +00:00.")
    try:
        return instant.astimezone(zone).date()
    except OverflowError:
        raise DayOutOfRange(f"The time {instant.isoformat()} lies outside the years 1 to 9999.") from None


def in_words(day: date) -> str:
    """12 Mar 2027, whatever the machine's language."""
    return f"{day.day} {MONTH_NAMES[day.month - 1]} {day.year}"


def period_index(day: date, months_in_period: int) -> int:
    """Number of the year, half-year or quarter that contains the day, counted from year 0.

    months_in_period: 12, 6 or 3
    """
    return (day.year * 12 + day.month - 1) // months_in_period


def period_end(index: int, months_in_period: int) -> date:
    """The last day of the period with this number."""
    year, month = divmod((index + 1) * months_in_period - 1, 12)
    return last_day_of_month(year, month + 1)


def season_in_order(months: Collection[int]) -> tuple[int, ...]:
    """The months of one season in the order they pass, so {1, 2, 12} is (12, 1, 2).

    Raises: ValueError unless they are different months, 1 to 12, that follow one another
    """
    starts = [month for month in sorted(months) if (month - 2) % 12 + 1 not in months]
    run = tuple(((starts or [1])[0] + step - 1) % 12 + 1 for step in range(len(months)))
    if not months or set(run) != set(months) or len(set(months)) != len(months):
        raise ValueError(
            "A season is a list of months, 1 to 12, that follow one another, such as [12, 1, 2]."
        )
    return run
