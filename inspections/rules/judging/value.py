"""Steps range, unit, repeats, reversal and null: from the displays to one value before temperature."""

from decimal import Decimal
from functools import lru_cache

from inspections.calculations.display import NUMBER, OVER, UNDER, Display, parse_display, step_decimals
from inspections.calculations.printing import NBSP, plain
from inspections.calculations.reversal import SOURCE as REVERSAL_SOURCE
from inspections.calculations.reversal import Reversal, keeps_no_sign, reverse, reverse_three
from inspections.calculations.spread import exceeds_spread, mean, spread_percent
from inspections.rules.judging.facts import FALL_OF_POTENTIAL
from inspections.rules.judging.state import Working, day_text

FEWEST_POSITIONS = 3
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
        text += f" The display is over range: the value lies above {w.ohms(_over_bound(w, w.display))}."
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


def _over_bound(w: Working, display: Display) -> Decimal:
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
    _ask_decimals(w, display, w.reading.text)


@lru_cache(maxsize=1024)
def _decimals_of_step(step_ohm: Decimal, shift: int) -> int:
    return step_decimals(step_ohm.scaleb(shift))


def _ask_decimals(w: Working, display: Display, text: str) -> None:
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


def repeats(w: Working) -> None:
    """Repeats or a plateau's positions as their mean, if they are enough and agree."""
    reading = w.reading
    plateau = bool(reading.positions) and reading.method == FALL_OF_POTENTIAL
    if not reading.repeats and not plateau and w.limit.repeats <= 1:
        _single(w)
        return
    texts = [reading.text, *reading.repeats]
    found = [w.display, *(parse_display(text) for text in reading.repeats)]
    used = found
    if plateau:
        used = [parse_display(text) for _, text in reading.positions]
    _count_displays(w, len(used) if plateau and len(used) > len(found) else len(found))
    if any(display.kind != w.display.kind for display in (*found, *used)):
        w.say("repeats", f"The displays {', '.join(texts)} do not all show a value.")
        w.stop("The displays do not agree: some show a value and some do not.")
        return
    if w.display.kind != NUMBER:
        _bounds(w, used)
        return
    _ask_repeats(w, plateau)
    if plateau and len(found) > 1:
        _agreeing(w, found, plateau=False)
    _agreeing(w, used, plateau)


def _single(w: Working) -> None:
    note = " Positions belong to fall of potential and are not used." if w.reading.positions else ""
    w.say("repeats", f"One display, as many as wanted.{note}")
    if w.display.kind != NUMBER or w.display.number is None:
        _bounds(w, [w.display])
        return
    w.shown_ohm = w.display.number.scaleb(-w.shift)
    w.displays = [w.shown_ohm]


def _bounds(w: Working, displays: list[Display]) -> None:
    """Over range: the least that all of them say; below: the most."""
    if w.display.kind == OVER:
        w.bound_ohm = min(_over_bound(w, display) for display in displays)
    elif w.display.kind == UNDER:
        w.bound_ohm = max(d.number.scaleb(-w.shift) for d in displays if d.number is not None)


def _count_displays(w: Working, there: int) -> None:
    wanted = w.limit.repeats
    w.say("repeats", f"Displays: {there}; wanted: {wanted}.")
    if there < wanted:
        w.stop(f"Too few displays: {there} of {wanted} wanted.")


def _ask_repeats(w: Working, plateau: bool) -> None:
    texts = w.reading.repeats if not plateau else (*w.reading.repeats, *(t for _, t in w.reading.positions))
    for text in texts:
        _ask_decimals(w, parse_display(text), text)


def _agreeing(w: Working, displays: list[Display], plateau: bool) -> None:
    numbers = [display.number for display in displays if display.number is not None]
    allowed = w.limit.allowed_spread_percent
    spread = spread_percent(numbers)
    middle = mean(numbers)
    list_text = " + ".join(plain(number) for number in numbers)
    spread_text = "without bound" if spread is None else f"{plain(spread, 4)}{NBSP}%"
    what = _positions_text(w) if plateau else f"Mean of {len(numbers)} displays"
    w.say(
        "repeats",
        f"{what}: ({list_text}) / {len(numbers)} = {plain(middle)}{NBSP}{w.unit}; greatest deviation over the"
        f" mean {spread_text}, allowed {plain(allowed)}{NBSP}%.",
    )
    w.shown_ohm = middle.scaleb(-w.shift)
    w.displays = [] if plateau else [number.scaleb(-w.shift) for number in numbers]
    if exceeds_spread(numbers, allowed):
        name = "No plateau: the positions" if plateau else "The displays"
        w.stop(f"{name} spread by {spread_text}, more than the {plain(allowed)}{NBSP}% allowed.")
    if plateau and len(numbers) < FEWEST_POSITIONS:
        w.stop(f"A plateau needs at least {FEWEST_POSITIONS} positions; there are {len(numbers)}.")


def _positions_text(w: Working) -> str:
    places = ", ".join(f"{plain(percent)}{NBSP}%" for percent, _ in w.reading.positions)
    return f"Mean over the positions at {places} of the distance"


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
        _ask_decimals(w, display, text)
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
