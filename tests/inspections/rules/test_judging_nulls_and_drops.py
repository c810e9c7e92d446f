"""The null's age, the offset of a reversal, and displays that were left out: printed, asked about, never hidden."""

from datetime import datetime, timedelta, timezone
from decimal import Decimal as D

import pytest

from inspections.calculations.display import NumberError
from inspections.rules.judging.facts import CANNOT, WITHIN
from tests.inspections.rules.judging_example import READING, judged, lines_of, text_of

ZONE = timezone(timedelta(hours=1))
PRACTICE = "common practice, no published source"
OWN_PATH = {"parallel_paths": True}


def nulled(taken, at=READING.at):
    return judged(reading={"null_ohm": D("0.0001"), "null_taken_at": taken, "at": at})


def old_null_asked(verdict):
    return any("lead null" in question for question in verdict.questions)


@pytest.mark.parametrize(
    ("age", "words", "asks"),
    [
        (timedelta(minutes=15), "15 min before", False),
        (timedelta(hours=2), "2 h before", False),
        (timedelta(hours=3, minutes=30), "3.5 h before", False),
        (timedelta(hours=10, minutes=20), "10.3 h before", False),
        (timedelta(hours=10, minutes=21), "10.4 h before", True),
        (timedelta(hours=30), "30 h before", True),
        (timedelta(days=5), "5 days before", True),
    ],
)
def test_it_prints_the_age_of_the_null_and_asks_about_one_of_another_day(age, words, asks):
    """The reading was taken at 10:20: 10 h 20 min before it is the same day's midnight."""
    verdict = nulled(READING.at - age)
    assert words in text_of(verdict, "null")
    assert old_null_asked(verdict) == asks
    assert (lines_of(verdict, "null")[-1].source == PRACTICE) == asks
    assert verdict.outcome == WITHIN


def test_it_asks_after_twelve_hours_of_one_long_day():
    late = datetime(2027, 5, 3, 19, 30, tzinfo=ZONE)
    assert not old_null_asked(nulled(late - timedelta(hours=12), late))
    assert old_null_asked(nulled(late - timedelta(hours=12, minutes=1), late))


def test_it_takes_work_over_midnight_as_one_working_day():
    early = datetime(2027, 5, 4, 0, 30, tzinfo=ZONE)
    assert not old_null_asked(nulled(early - timedelta(hours=2), early))
    assert old_null_asked(nulled(early - timedelta(hours=2, minutes=1), early))


def test_it_counts_the_days_where_the_reading_was_taken():
    """23:30 UTC of the day before is 00:30 of the reading's own day."""
    taken = datetime(2027, 5, 2, 23, 30, tzinfo=timezone.utc)  # noqa: UP017
    assert not old_null_asked(nulled(taken, datetime(2027, 5, 3, 10, 20, tzinfo=ZONE)))


def test_it_says_where_the_age_is_not_known_or_the_null_came_afterwards():
    assert "when it was taken is not recorded" in text_of(judged(reading={"null_ohm": D("0.0001")}), "null")
    after = nulled(READING.at + timedelta(minutes=5))
    assert "5 min after the reading" in text_of(after, "null")
    assert after.questions == ()
    assert text_of(judged(), "null") == "No lead resistance to subtract."


# ------------------------------------------------------------------ reversal


@pytest.mark.parametrize(
    ("reversed_", "words", "asks"),
    [
        ("-5.00", "offset 0.00 mΩ, 0 % of it", False),
        ("-4.20", "8.70 % of it.", False),
        ("-4.00", "11.1 % of it, more than a tenth", False),
        ("-1.67", "49.9 % of it, more than a tenth", False),
        ("-1.66", "50.2 % of it, more than a tenth", True),
    ],
)
def test_it_prints_the_offset_and_asks_when_it_is_large_against_the_value(reversed_, words, asks):
    """+5.00 and −1.66 mΩ: value 3.33, offset 1.67 mΩ. The shares 10 and 50 % are common practice."""
    verdict = judged(reading={"reversed": (reversed_,)}, point=OWN_PATH)
    assert words in text_of(verdict, "reversal")
    assert any("thermal voltage" in question for question in verdict.questions) == asks
    assert (PRACTICE in text_of(verdict, "reversal")) == ("tenth" in words)


def test_it_asks_about_the_sign_rather_than_the_offset_where_both_signs_are_equal():
    (question,) = judged(reading={"reversed": ("0.40",)}, point=OWN_PATH).questions
    assert "keep the sign" in question


def test_it_prints_the_offset_of_the_three_step_form():
    """(5.00 + 2 · (−1.00) + 5.20)/4 = 2.05 against (5.00 − 2 · (−1.00) + 5.20)/4 = 3.05 mΩ."""
    verdict = judged(reading={"reversed": ("-1.00", "5.20")}, point=OWN_PATH)
    assert "offset 2.05 mΩ, 67.2 % of it" in text_of(verdict, "reversal")
    assert any("thermal voltage" in question for question in verdict.questions)


# ------------------------------------------------------------------ displays left out


def test_it_prints_a_display_left_out_with_its_reason_and_does_not_use_it():
    kept = judged(reading={"repeats": ("5.02", "5.04")}, limit={"repeats": 3})
    verdict = judged(
        reading={"repeats": ("5.02", "5.04"), "dropped": (("7.91", "clip had slipped"),)},
        limit={"repeats": 3},
    )
    assert lines_of(verdict, "repeats")[0].text == "Left out: 7.91, because: clip had slipped."
    assert (verdict.value_ohm, verdict.uncertainty_ohm) == (kept.value_ohm, kept.uncertainty_ohm)
    assert verdict.outcome == WITHIN


def test_it_does_not_count_a_display_left_out():
    verdict = judged(reading={"repeats": ("5.02",), "dropped": (("7.91", "slipped"),)}, limit={"repeats": 3})
    assert "2 of 3" in verdict.reason


@pytest.mark.parametrize("reason", ["", "   "])
def test_it_cannot_judge_where_a_display_was_left_out_without_a_reason(reason):
    verdict = judged(reading={"dropped": (("7.91", reason),)})
    assert verdict.outcome == CANNOT
    assert "without a reason" in verdict.reason


def test_it_refuses_a_display_left_out_that_cannot_be_read():
    with pytest.raises(NumberError):
        judged(reading={"dropped": (("7,91.0", "slipped"),)})
