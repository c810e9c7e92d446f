"""Steps reversal and null: what turns with the current, less the lead resistance.

Units: SI. Valid for direct current and two-lead nulls taken with the same leads. Source: V± = ±IR + E
(common practice).
"""

from datetime import datetime, timedelta
from decimal import Decimal

from inspections.calculations.display import NUMBER, OVER, parse_display
from inspections.calculations.printing import NBSP, plain
from inspections.calculations.reversal import SOURCE as REVERSAL_SOURCE
from inspections.calculations.reversal import Reversal, keeps_no_sign, reverse, reverse_three
from inspections.rules.judging.range_and_unit import ask_decimals
from inspections.rules.judging.state import Working, day_text

LARGE_PERCENT = Decimal(10)
ASKED_PERCENT = Decimal(50)
OLDEST_NULL, OVER_MIDNIGHT = timedelta(hours=12), timedelta(hours=2)
ZERO, MINUTE, HOUR, DAY = timedelta(0), timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
TENTH = Decimal("0.1")
PRACTICE = "common practice, no published source"


def reversal(w: Working) -> None:
    """(R₊ − R₋)/2, or (R₁ − 2 R₂ + R₃)/4 for the three-step form; the offset is printed beside it."""
    if not w.reading.reversed:
        w.say("reversal", "The current was not reversed.")
        return
    turned = [parse_display(text) for text in w.reading.reversed]
    numbers = [display.number for display in turned if display.number is not None and display.kind == NUMBER]
    if w.shown_ohm is None or len(numbers) < len(turned):
        _not_reversible(w, len(numbers))
        return
    for display, text in zip(turned, w.reading.reversed, strict=True):
        ask_decimals(w, display, text)
    forward = w.shown_ohm.scaleb(w.shift)
    if len(numbers) == 1:
        found = reverse(forward, numbers[0])
        sum_text = f"({plain(forward)} − ({plain(numbers[0])})) / 2"
    else:
        found = reverse_three(forward, numbers[0], numbers[1])
        sum_text = f"({plain(forward)} − 2 × ({plain(numbers[0])}) + {plain(numbers[1])}) / 4"
    w.say(
        "reversal", f"{sum_text} = {plain(found.value)}{NBSP}{w.unit}; {_offset(w, found)}.", REVERSAL_SOURCE
    )
    if any(keeps_no_sign(forward, number) for number in numbers[:1]):
        w.ask("The display has the same sign with the current reversed: does the display keep the sign?")
    elif found.value and abs(found.offset) * 100 > ASKED_PERCENT * abs(found.value):
        w.ask(
            f"The {_offset(w, found)}: is there a thermal voltage at a contact, and had the display settled?"
        )
    w.shown_ohm = found.value.scaleb(-w.shift)


def _offset(w: Working, found: Reversal) -> str:
    if not found.value:
        return f"offset {plain(found.offset)}{NBSP}{w.unit}"
    share = abs(found.offset / found.value) * 100
    large = f", more than a tenth ({PRACTICE})" if share > LARGE_PERCENT else ""
    return f"offset {plain(found.offset)}{NBSP}{w.unit}, {plain(share, 3)}{NBSP}% of it{large}"


def _not_reversible(w: Working, numbers: int) -> None:
    """An over-range display is over range both ways; anything else must be a number both ways."""
    w.say("reversal", f"With the current reversed: {', '.join(w.reading.reversed)}; no value can be formed.")
    if w.display.kind == NUMBER or numbers:
        w.stop("The displays of the two current directions do not agree: one of them shows no value.")
    w.shown_ohm = None


def null(w: Working) -> None:
    """The lead resistance off; below zero the null or a thermal voltage is wrong, and nothing is clamped."""
    lead = w.reading.null_ohm
    value = w.shown_ohm
    if lead is None:
        w.say("null", "No lead resistance to subtract.")
    elif value is not None:
        w.say("null", f"{w.number(value)} − {w.number(lead)} = {w.ohms(value - lead)}{_taken(w)}.")
        value -= lead
    elif w.bound_ohm is not None and w.display.kind == OVER:
        w.say(
            "null",
            f"Bound: {w.number(w.bound_ohm)} − {w.number(lead)} = {w.ohms(w.bound_ohm - lead)}{_taken(w)}.",
        )
        w.bound_ohm -= lead
    else:
        w.say("null", f"Lead resistance {w.ohms(lead)}; there is no value to subtract it from{_taken(w)}.")
    if lead is not None:
        _age(w)
    w.value_ohm = value
    if value is not None and value < 0:
        w.stop("The value is below zero: the lead null or a thermal voltage is wrong.")


def _taken(w: Working) -> str:
    at = w.reading.null_taken_at
    return "; when it was taken is not recorded" if at is None else f"; the null was taken on {_moment(at)}"


def _moment(at: datetime) -> str:
    return f"{day_text(at)} at {at:%H:%M}"


def _age(w: Working) -> None:
    """The null's age at the reading; one of an earlier day, or older than 12 h, raises a question.

    Work over midnight is one working day: up to two hours, the day before does not count as another.
    """
    taken, read = w.reading.null_taken_at, w.reading.at
    if taken is None:
        return
    age = read - taken
    another_day = taken.astimezone(read.tzinfo).date() < read.date() and age > OVER_MIDNIGHT
    old = another_day or age > OLDEST_NULL
    state = ": older than the working day" if old else ""
    when = "before" if age >= ZERO else "after"
    w.say("null", f"The null was taken {_span(abs(age))} {when} the reading{state}.", PRACTICE if old else "")
    if old:
        w.ask(f"The lead null was taken {_span(age)} before the reading: was it taken again that day?")


def _span(age: timedelta) -> str:
    """`45 min`, `12.5 h`, `3 days`."""
    minutes = int(age / MINUTE)
    if age < 2 * HOUR:
        return f"{minutes}{NBSP}min"
    if age < 2 * DAY:
        return f"{plain((Decimal(minutes) / 60).quantize(TENTH).normalize())}{NBSP}h"
    return f"{age.days}{NBSP}days"
