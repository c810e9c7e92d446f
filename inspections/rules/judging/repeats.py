"""Step repeats: several displays, or the positions of a plateau, as their mean if they are enough and agree.

Units: SI. Valid for displays of one thing, or positions of one fall of potential. Source: spread over the mean (common
practice).
"""

from decimal import Decimal

from inspections.calculations.display import NUMBER, OVER, UNDER, Display, parse_display
from inspections.calculations.printing import NBSP, plain
from inspections.calculations.spread import exceeds_spread, mean, spread_percent
from inspections.rules.judging.facts import FALL_OF_POTENTIAL
from inspections.rules.judging.range_and_unit import ask_decimals, over_bound_ohm
from inspections.rules.judging.state import Working

FEWEST_POSITIONS = 3
PERCENT = Decimal("0.01")
PRACTICE = "common practice, no published source"


def repeats(w: Working) -> None:
    """Repeats or a plateau's positions as their mean, if they are enough and agree, and if the display beside the
    positions stands on their plateau.
    """
    reading = w.reading
    for text, reason in reading.dropped:
        _dropped(w, text, reason.strip())
    plateau = bool(reading.positions) and reading.method == FALL_OF_POTENTIAL
    if not reading.repeats and not plateau and w.limit.repeats <= 1:
        _single(w)
        _unshown_plateau(w)
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
    if plateau:
        _against_positions(w, found, used)
    else:
        _unshown_plateau(w)


def _unshown_plateau(w: Working) -> None:
    """Without positions the display may be the value or not: the place of the potential probe decides."""
    if w.as_third or w.reading.method != FALL_OF_POTENTIAL or w.display.kind != NUMBER:
        return
    w.say("repeats", "No positions of the potential probe are recorded: no plateau is shown.")
    w.ask("No plateau is shown: what did the potential probe read on either side of its place?")


def _against_positions(w: Working, found: list[Display], used: list[Display]) -> None:
    """A display on the plateau agrees with its mean as the positions do among themselves, or within a step."""
    places = [display.number for display in used if display.number is not None]
    allowed = w.limit.allowed_spread_percent
    if w.as_third or exceeds_spread(places, allowed):
        return
    shown = mean([display.number for display in found if display.number is not None])
    middle, step = mean(places), w.reading.step_ohm.scaleb(w.shift)
    share = allowed * PERCENT * abs(middle)
    most = max(share, step)
    agrees = abs(shown - middle) <= most
    w.say(
        "repeats",
        f"Display against the positions: allowed are {plain(allowed)}{NBSP}% × {plain(abs(middle))} = {plain(share)}"
        f"{NBSP}{w.unit}, or a step of {plain(step)}{NBSP}{w.unit} if that is more, so {plain(middle - most)} to"
        f" {plain(middle + most)}{NBSP}{w.unit}; {plain(shown)}{NBSP}{w.unit} was shown:"
        f" {'they agree' if agrees else 'they contradict each other'}."
        " What follows is reckoned with the mean over the positions.",
        PRACTICE,
    )
    if agrees:
        return
    display, positions = f"{plain(shown)}{NBSP}{w.unit}", f"{plain(middle)}{NBSP}{w.unit}"
    w.stop(f"The display of {display} and the positions, which come to {positions}, contradict each other.")
    w.ask(f"The display shows {display} and the positions come to {positions}: which of them is right?")


def _dropped(w: Working, text: str, reason: str) -> None:
    """A repeat left out is printed with its reason; without one nothing can be judged. Raises: NumberError"""
    parse_display(text)
    w.say("repeats", f"Left out: {text}, because: {reason or 'no reason was given'}.")
    if not reason:
        w.stop(f"The display {text} was left out without a reason.")


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
        w.bound_ohm = min(over_bound_ohm(w, display) for display in displays)
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
        ask_decimals(w, parse_display(text), text)


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
