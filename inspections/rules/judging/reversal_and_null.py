"""Steps reversal and null: what turns with the current, less the lead resistance.

Units: SI. Valid for direct current and two-lead nulls taken with the same leads. Source: V± = ±IR + E
(common practice).
"""

from inspections.calculations.display import NUMBER, OVER, parse_display
from inspections.calculations.printing import NBSP, plain
from inspections.calculations.reversal import SOURCE as REVERSAL_SOURCE
from inspections.calculations.reversal import Reversal, keeps_no_sign, reverse, reverse_three
from inspections.rules.judging.range_and_unit import ask_decimals
from inspections.rules.judging.state import Working, day_text


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
    w.shown_ohm = found.value.scaleb(-w.shift)


def _offset(w: Working, found: Reversal) -> str:
    share = f", {plain(abs(found.offset / found.value) * 100, 3)}{NBSP}% of it" if found.value else ""
    return f"offset {plain(found.offset)}{NBSP}{w.unit}{share}"


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
    w.value_ohm = value
    if value is not None and value < 0:
        w.stop("The value is below zero: the lead null or a thermal voltage is wrong.")


def _taken(w: Working) -> str:
    at = w.reading.null_taken_at
    return "" if at is None else f"; the null was taken on {day_text(at)} at {at:%H:%M}"
