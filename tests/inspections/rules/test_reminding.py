"""What the letter of a day tells, by choice and by the letters before it; counted by hand on one calendar."""

from datetime import date

import pytest

from inspections.rules.reminding import Telling, telling

WHOLE, PRESSING = Telling(soon=True), Telling(soon=False)
MONDAY, WEDNESDAY, THURSDAY = (date(2027, 5, day) for day in (17, 19, 20))


@pytest.mark.parametrize(
    ("day", "rhythm", "weekday", "last_whole", "last", "expected"),
    [
        (MONDAY, "daily", None, date(2027, 5, 16), date(2027, 5, 16), WHOLE),
        (MONDAY, "pressing", None, date(2027, 5, 1), date(2027, 5, 1), PRESSING),
        (MONDAY, "weekly", 2, None, None, WHOLE),  # the first letter of all
        (MONDAY, "weekly", 2, date(2027, 5, 12), date(2027, 5, 12), Telling(False, date(2027, 5, 12))),
        (MONDAY, "weekly", 2, date(2027, 5, 12), date(2027, 5, 15), Telling(False, date(2027, 5, 15))),
        (WEDNESDAY, "weekly", 2, date(2027, 5, 12), date(2027, 5, 18), WHOLE),  # its weekday
        (THURSDAY, "weekly", 2, date(2027, 5, 12), date(2027, 5, 12), WHOLE),  # it was missed the day before
        (THURSDAY, "weekly", 2, WEDNESDAY, WEDNESDAY, Telling(False, WEDNESDAY)),
        (
            MONDAY,
            "weekly",
            0,
            date(2027, 5, 16),
            date(2027, 5, 16),
            WHOLE,
        ),  # chosen the day before, on a Sunday
        (
            date(2028, 2, 29),
            "weekly",
            1,
            date(2028, 2, 22),
            date(2028, 2, 22),
            WHOLE,
        ),  # a leap day, a Tuesday
    ],
)
def test_it_tells(day, rhythm, weekday, last_whole, last, expected) -> None:
    assert telling(day, rhythm=rhythm, weekday=weekday, last_whole=last_whole, last=last) == expected
