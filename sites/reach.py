"""How far away a day may lie that somebody gives: further off it is a slip, and sums with it leave the calendar."""

from datetime import date, timedelta

from django.core.exceptions import ValidationError

FIRST_YEAR, LAST_YEAR = 1600, 2199
# What somebody allows or accepts for longer is taken for a slip of the year.
LONGEST_YEARS = 10
LONGEST = timedelta(days=366 * LONGEST_YEARS)


def out_of_reach(day: date) -> str:
    """The sentence for a day outside the years 1600 to 2199; empty inside, both ends included."""
    if FIRST_YEAR <= day.year <= LAST_YEAR:
        return ""
    return f"The year {day.year:04d} is out of reach. Give one from {FIRST_YEAR} to {LAST_YEAR}."


def require_in_reach(day: date) -> None:
    """Raises: ValidationError"""
    if fault := out_of_reach(day):
        raise ValidationError(fault)


def too_long(first: date, last: date) -> str:
    """The sentence for a span over ten years, where a slip of the year would silence everything; else ""."""
    if last - first <= LONGEST:
        return ""
    return (
        f"{last:%-d %b %Y} lies more than {LONGEST_YEARS} years on. Check the year; what holds longer is recorded anew "
        "then."
    )
