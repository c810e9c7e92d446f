"""Step change: against the last like reading and the baseline. It never touches the outcome.

Units: SI, percent of the earlier reading. Valid for readings of one point by one method. Source: two uncertainties
taken together as a root sum of squares, JCGM 100:2008 (GUM); like for like is common practice.
"""

from collections.abc import Iterable
from decimal import Decimal

from inspections.calculations.printing import NBSP, plain
from inspections.rules.judging.facts import (
    FALLEN,
    FIRST,
    NOT_COMPARABLE,
    RISEN,
    STEADY,
    Change,
    EarlierReading,
)
from inspections.rules.judging.state import Working, day_text


def earlier_readings(w: Working) -> list[EarlierReading]:
    """The history up to the reading's own day; a later result is no history of it."""
    day = w.reading.at.date()
    return [earlier for earlier in w.history if earlier.on <= day]


def last(readings: Iterable[EarlierReading]) -> EarlierReading | None:
    """The one of the latest day; of several on that day the one that stands last."""
    found: EarlierReading | None = None
    for earlier in readings:
        if found is None or earlier.on >= found.on:
            found = earlier
    return found


def last_like(w: Working) -> EarlierReading | None:
    """The last earlier reading by the same method."""
    return last(earlier for earlier in earlier_readings(w) if earlier.method == w.reading.method)


def change(w: Working) -> Change:
    """Steady while the difference is within both uncertainties together, else risen or fallen."""
    earlier = earlier_readings(w)
    if not earlier:
        w.say("change", "First reading of this point.")
        return Change(FIRST)
    like = [reading for reading in earlier if reading.method == w.reading.method]
    before = last(like)
    if before is None:
        w.say("change", f"No earlier reading by {w.reading.method}: not comparable.")
        return Change(NOT_COMPARABLE)
    if w.corrected_ohm is None:
        w.say("change", f"There is no value to compare with that of {day_text(before.on)}: not comparable.")
        return Change(NOT_COMPARABLE)
    return _against(w, w.corrected_ohm, before, last(reading for reading in like if reading.baseline))


def _against(
    w: Working, corrected: Decimal, before: EarlierReading, baseline: EarlierReading | None
) -> Change:
    now_u, then_u = w.expanded_ohm, before.uncertainty_ohm
    now_u, then_u = (then_u if now_u is None else now_u), (now_u if then_u is None else then_u)
    difference = corrected - before.corrected_ohm
    percent = _percent(corrected, before.corrected_ohm)
    from_baseline = None if baseline is None else _percent(corrected, baseline.corrected_ohm)
    if now_u is None or then_u is None:
        w.say("change", f"{_difference(w, difference, before)}; no uncertainty is known: not comparable.")
        return Change(NOT_COMPARABLE, percent, from_baseline)
    together = (now_u * now_u + then_u * then_u).sqrt()
    state = STEADY if abs(difference) <= together else RISEN if difference > 0 else FALLEN
    sign = "≤" if state == STEADY else ">"
    assumed = " (taken as this one's)" if before.uncertainty_ohm is None else ""
    shown = "" if percent is None else f", {plain(percent, 4)}{NBSP}% of it"
    w.say(
        "change",
        f"{_difference(w, difference, before)}{shown}; |Δ| {sign} √({w.number(now_u)}² + {w.number(then_u)}²"
        f"{assumed}) = {w.ohms(together)}: {state}.{_baseline(from_baseline, baseline)}",
    )
    return Change(state, percent, from_baseline)


def _difference(w: Working, difference: Decimal, before: EarlierReading) -> str:
    return f"Against {w.ohms(before.corrected_ohm)} on {day_text(before.on)}: Δ = {w.ohms(difference)}"


def _baseline(percent: Decimal | None, baseline: EarlierReading | None) -> str:
    if percent is None or baseline is None:
        return ""
    return f" Against the baseline of {day_text(baseline.on)}: {plain(percent, 4)}{NBSP}%."


def _percent(now: Decimal, then: Decimal) -> Decimal | None:
    return (now - then) / then * 100 if then else None
