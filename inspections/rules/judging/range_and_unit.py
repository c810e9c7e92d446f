"""Steps range and unit: what the range and its step can say about the limit, and in which unit.

Units: SI, display texts in the reading's own unit. Valid for an accuracy of percent of the reading plus digits. Source:
how makers state accuracy (common practice).
"""

from decimal import Decimal
from functools import lru_cache

from inspections.calculations.display import NUMBER, OVER, Display, step_decimals
from inspections.calculations.printing import NBSP, plain
from inspections.rules.judging.state import Working

TEN = Decimal(10)
PERCENT = Decimal("0.01")


def accuracy_half_width_ohm(w: Working, at_ohm: Decimal) -> Decimal | None:
    """percent · reading + digits · step [ohm]; None where the instrument's accuracy is not known."""
    percent, digits = w.instrument.percent_of_reading, w.instrument.digits
    if percent is None or digits is None:
        return None
    return percent * PERCENT * abs(at_ohm) + digits * w.reading.step_ohm


def accuracy_text(w: Working, at_ohm: Decimal) -> str:
    """The accuracy's sum as it is printed, without its result."""
    percent, digits = w.instrument.percent_of_reading, w.instrument.digits
    assert percent is not None and digits is not None  # noqa: S101 - asked only where accuracy is known
    step = w.number(w.reading.step_ohm)
    return f"{plain(percent)}{NBSP}% × {w.number(abs(at_ohm))} + {plain(digits)} × {step}"


def range_and_step(w: Working) -> None:
    """Whether the range can resolve the limit: a(L) below L."""
    reading, limit_ohm = w.reading, w.limit.limit_ohm
    text = f"Range to {w.ohms(reading.range_top_ohm)} in steps of {w.ohms(reading.step_ohm)}."
    if w.display.kind == OVER:
        text += f" The display is over range: the value lies above {w.ohms(over_bound_ohm(w, w.display))}."
    if limit_ohm is None:
        w.say("range", text)
        return
    w.at_limit_ohm = accuracy_half_width_ohm(w, limit_ohm)
    if w.at_limit_ohm is None:
        w.say("range", f"{text} The accuracy on this range is not known.")
        w.stop("The instrument's accuracy on this range is not known.")
        return
    w.unresolved = w.at_limit_ohm >= limit_ohm
    state = "it cannot resolve the limit" if w.unresolved else "the range resolves the limit"
    sign = "≥" if w.unresolved else "<"
    w.say(
        "range",
        f"{text} Accuracy at the limit: a(L) = {accuracy_text(w, limit_ohm)} = {w.ohms(w.at_limit_ohm)}"
        f" {sign} {w.ohms(limit_ohm)}: {state}.",
    )
    if reading.step_ohm * TEN > limit_ohm:
        w.say("range", f"Advice: the step is more than a tenth of {w.ohms(limit_ohm)}; choose a finer range.")


def over_bound_ohm(w: Working, display: Display) -> Decimal:
    """What the value lies above: the range's top, or the x of >x if that is less."""
    top = w.reading.range_top_ohm
    return top if display.number is None else min(top, display.number.scaleb(-w.shift))


def unit(w: Working) -> None:
    """The unit is the one written; nothing is guessed."""
    display = w.display
    if display.kind != NUMBER or display.number is None:
        w.say(
            "unit",
            f"1{NBSP}{w.unit} = {plain(Decimal(1).scaleb(-w.shift))}{NBSP}Ω; the display holds no value.",
        )
        return
    ohm = display.number.scaleb(-w.shift)
    w.say("unit", f"{plain(display.number)}{NBSP}{w.unit} = {plain(ohm, 18)}{NBSP}Ω.")
    ask_decimals(w, display, w.reading.text)


@lru_cache(maxsize=1024)
def _decimals_of_step(step_ohm: Decimal, shift: int) -> int:
    return step_decimals(step_ohm.scaleb(shift))


def ask_decimals(w: Working, display: Display, text: str) -> None:
    wanted = _decimals_of_step(w.reading.step_ohm, w.shift)
    if display.decimals == wanted:
        return
    lone_one = " or was a lone 1 the sign for over range?" if text.strip().rstrip(".") == "1" else "?"
    w.ask(
        f"“{text}” has {_count(display.decimals)} and a step of {w.ohms(w.reading.step_ohm)} shows {wanted}:"
        f" was it read on this range{lone_one}"
    )


def _count(decimals: int) -> str:
    return "1 decimal" if decimals == 1 else f"{decimals or 'no'} decimals"
