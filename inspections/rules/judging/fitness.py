"""Steps present, calibration, method, current and limit: is this a reading the rule can be held against?

Units: SI, days. Valid for one reading and the rule and calibration of its day. Source: common practice: method and
current belong to the limit, calibration is judged at the time of measurement.
"""

from decimal import Decimal

from inspections.calculations.display import NOTHING, NUMBER, OVER, parse_display
from inspections.calculations.printing import NBSP, plain
from inspections.rules.judging.facts import FOUR_WAY, GUARDED
from inspections.rules.judging.state import Working, day_text

# Below this share of the set current a question is asked: common practice, no published source.
LEAST_ACHIEVED_PERCENT = Decimal(90)


def present(w: Working) -> None:
    """`--` is no reading; a minus over range is below zero. Raises: NumberError for an unreadable text."""
    reading = w.reading
    w.display = parse_display(reading.text)
    at = reading.at
    unit = f"{NBSP}{w.unit}" if w.display.kind == NUMBER else f" (in {w.unit})"
    text = f"The display showed {reading.text}{unit} on {day_text(at)} at {at:%H:%M}."
    if reading.waited_s is not None:
        text += f" It had settled for {plain(reading.waited_s)}{NBSP}s."
    if reading.joint_state:
        text += f" Joint: {reading.joint_state}."
    w.say("present", text)
    if w.display.kind == NOTHING:
        w.stop("There is no reading: the display showed nothing.")
    elif w.display.kind == OVER and w.display.negative:
        w.stop("The display is over range below zero: a resistance is not negative.")


def calibration(w: Working) -> None:
    """Judged by the reading's own local day; the first and the last day are valid."""
    instrument = w.instrument
    day = w.reading.at.date()
    since, until = instrument.calibrated_on, instrument.valid_until
    label = f" {instrument.label}." if instrument.label else ""
    if since is None or until is None:
        w.say("calibration", f"No calibration is known for {day_text(day)}.{label}")
        w.stop(f"No calibration of the instrument is known for {day_text(day)}.")
        return
    valid = since <= day <= until
    state = "in calibration" if valid else "out of calibration"
    span = f"Calibrated on {day_text(since)}, valid until {day_text(until)}"
    w.say("calibration", f"{span}; read on {day_text(day)}: {state}.{label}")
    if not valid:
        w.stop(f"The instrument was out of calibration on {day_text(day)}.")


def method(w: Working) -> None:
    """The method belongs to the limit: one that the rule does not name does not fit it."""
    used, wanted = w.reading.method, w.limit.methods
    if not wanted:
        w.say("method", f"Read by {used}; the rule asks for no particular method.")
        return
    fits = used in wanted
    names = " or ".join(wanted)
    w.say("method", f"Read by {used}; the rule asks for {names}: {'fits' if fits else 'does not fit'}.")
    if not fits:
        w.stop(f"The method does not fit: {used} instead of {names}.")


def current(w: Working) -> None:
    """Too little current, or none recorded where the rule wants one, stops; not for an over-range display."""
    reading, least = w.reading, w.limit.minimum_current_a
    taken = "not recorded" if reading.current_a is None else f"{plain(reading.current_a)}{NBSP}A"
    if reading.set_current_a is not None:
        taken = f"set to {plain(reading.set_current_a)}{NBSP}A, achieved {taken}"
        _ask_achieved(w)
    if least is None:
        w.say("current", f"Test current {taken}; the rule asks for none in particular.{_voltage(w)}")
        return
    enough = reading.current_a is not None and reading.current_a >= least
    over = w.display.kind == OVER
    state = (
        "enough" if enough else "too little" if reading.current_a is not None else "not shown to be enough"
    )
    note = " An over-range display is reported whatever the current." if over and not enough else ""
    asked = f"{plain(least)}{NBSP}A"
    w.say("current", f"Test current {taken}; the rule asks for at least {asked}: {state}.{note}{_voltage(w)}")
    if not enough and not over:
        w.stop(f"The test current does not fit: {taken}, at least {asked} wanted.")


def _ask_achieved(w: Working) -> None:
    """An instrument that cannot drive what it was set to meets resistance elsewhere, mostly in a lead or a clip."""
    wanted, flowed = w.reading.set_current_a, w.reading.current_a
    if wanted is None or w.display.kind == OVER:
        return
    if flowed is None:
        w.ask(f"The instrument was set to {plain(wanted)}{NBSP}A: what current did flow?")
    elif flowed * 100 < LEAST_ACHIEVED_PERCENT * wanted:
        w.ask(
            f"{plain(flowed)}{NBSP}A flowed of the {plain(wanted)}{NBSP}A that were set: does a lead or a clip make "
            "poor contact, or does the joint hold by a few strands?"
        )


def _voltage(w: Working) -> str:
    """The open-circuit voltage against the rule's range, as the end of the current's line."""
    wanted, taken = w.limit.open_circuit_voltage_v, w.reading.open_circuit_voltage_v
    if wanted is None:
        return "" if taken is None else f" Open-circuit voltage {plain(taken)}{NBSP}V."
    low, high = wanted
    span = f"{plain(low)} to {plain(high)}{NBSP}V"
    if taken is None:
        w.ask(f"The rule asks for {span} open circuit and none is recorded: what was the voltage?")
        return f" Open-circuit voltage not recorded; the rule asks for {span}."
    fits = low <= taken <= high
    if not fits and w.display.kind != OVER:
        w.stop(f"The open-circuit voltage does not fit: {plain(taken)}{NBSP}V, {span} wanted.")
    state = "fits" if fits else "does not fit"
    return f" Open-circuit voltage {plain(taken)}{NBSP}V; the rule asks for {span}: {state}."


def limit_in_force(w: Working) -> None:
    """The limit, at what temperature it holds, and the decision agreed for it."""
    limit = w.limit
    if limit.limit_ohm is None:
        w.say("limit", "No limit applies: the value is for information.", limit.label)
        return
    where = _where(w, limit.reference_temperature_c)
    if limit.electrodes is not None and w.told_limit_ohm is not None:
        times = "" if limit.times == 1 else f"{plain(limit.times)} × "
        w.say(
            "limit",
            f"The limit of the whole earth is {w.ohms(w.told_limit_ohm)}; the system has {limit.electrodes} electrodes,"
            f" and one of them may come to {times}{limit.electrodes} × {w.number(w.told_limit_ohm)} ="
            f" {w.ohms(limit.limit_ohm)}.",
            limit.label,
        )
    rule = limit.decision
    if rule == GUARDED:
        rule = f"guarded, w = {plain(limit.guard)} · U"
    elif rule == FOUR_WAY:
        rule = "four-way, w = U"
    w.say("limit", f"Upper limit {w.ohms(limit.limit_ohm)} {where}; decision rule: {rule}.", limit.label)


def _where(w: Working, reference_c: Decimal | None) -> str:
    return "as found" if reference_c is None else f"at {plain(reference_c)}{NBSP}°C"
