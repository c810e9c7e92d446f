"""How far away a day may lie that somebody gives: further off it is a slip, and sums with it leave the calendar."""

from datetime import date

from django.core.exceptions import ValidationError

FIRST_YEAR, LAST_YEAR = 1600, 2199


def out_of_reach(day: date) -> str:
    """The sentence for a day outside the years 1600 to 2199; empty inside, both ends included."""
    if FIRST_YEAR <= day.year <= LAST_YEAR:
        return ""
    return f"The year {day.year:04d} is out of reach. Give one from {FIRST_YEAR} to {LAST_YEAR}."


def require_in_reach(day: date) -> None:
    """Raises: ValidationError"""
    if fault := out_of_reach(day):
        raise ValidationError(fault)
