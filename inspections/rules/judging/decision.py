"""Step decision: from value, uncertainty and limit to the outcome. The limit itself counts as within.

Units: SI. Valid for an upper limit and a decision rule agreed before the measurement. Source: ILAC-G8:09/2019, simple
acceptance, guard band, non-binary statement.
"""

from decimal import Decimal

from inspections.calculations.conformity import CONFORMITY_SOURCE, normal_below
from inspections.calculations.display import NUMBER, OVER
from inspections.calculations.printing import plain
from inspections.rules.judging.facts import ABOVE, CANNOT, FOUR_WAY, GUARDED, INFORMATION, SIMPLE, WITHIN
from inspections.rules.judging.state import Working

ILAC = "ILAC-G8:09/2019"
NOT_SHOWN = "Conformity not shown"
STRADDLES = "The temperature was not taken, and the result lies on both sides of the limit"
PROBABILITY_SOURCE = f"{CONFORMITY_SOURCE}; its one-sided example from memory"
ONE = Decimal(1)
NEARLY = 0.00005


def decision(w: Working) -> str:
    """The outcome; a reason stands in w where it cannot be judged."""
    limit = w.limit.limit_ohm
    if w.reason:
        return _say(w, CANNOT, w.reason)
    if limit is None:
        return _say(w, INFORMATION, "No limit applies.")
    if w.display.kind == OVER:
        return _over_range(w, limit)
    if w.display.kind != NUMBER:
        return _below(w, limit)
    assert w.corrected_ohm is not None and w.expanded_ohm is not None  # noqa: S101 - no step has stopped
    outcome = _of_value(w, limit, w.corrected_ohm, w.expanded_ohm)
    _probability(w, limit, w.corrected_ohm)
    return outcome


def _of_value(w: Working, limit: Decimal, corrected: Decimal, expanded: Decimal) -> str:
    straddles = _straddles(w, limit, expanded, corrected)
    if straddles and (w.as_third or not w.unresolved):
        return _cannot(w, STRADDLES)
    if w.unresolved:
        return _by_accuracy(w, limit, straddles)
    rules = {SIMPLE: _simple, GUARDED: _guarded, FOUR_WAY: _four_way}
    return rules[w.limit.decision](w, limit, corrected, expanded)


def _probability(w: Working, limit: Decimal, corrected: Decimal) -> None:
    """Φ((L − y)/u), printed beside the decision; it decides nothing."""
    standard = w.standard_ohm
    if not standard:
        return
    z = (limit - corrected) / standard
    w.probability = found = normal_below(float(z))
    w.say(
        "decision",
        f"Probability of conformity: z = (L − y) / u = ({w.number(limit)} − {w.number(corrected)})"
        f" / {w.number(standard)} = {plain(z)}; Φ(z) {_share(found)}.",
        PROBABILITY_SOURCE,
    )


def _share(probability: float) -> str:
    """To four decimals; never a whole certainty."""
    if probability > 1 - NEARLY:
        return "> 0.9999"
    return "< 0.0001" if probability < NEARLY else f"= {probability:.4f}"


def _say(w: Working, outcome: str, text: str, source: str = "") -> str:
    w.say("decision", f"{text} {outcome.capitalize()}.", source)
    return outcome


def _cannot(w: Working, reason: str, source: str = "") -> str:
    w.stop(f"{reason}.")
    return _say(w, CANNOT, f"{reason}.", source)


def _over_range(w: Working, limit: Decimal) -> str:
    """Above if the range's top, corrected like a value, reaches the limit."""
    assert w.bound_ohm is not None and w.lowest_factor is not None  # noqa: S101 - no step has stopped
    bound = w.bound_ohm * w.lowest_factor
    if bound >= limit:
        return _say(w, ABOVE, f"Open or over range: more than {w.ohms(bound)} ≥ {w.ohms(limit)}.")
    return _cannot(
        w, f"Over range, and the range ends at {w.ohms(bound)}, below the limit of {w.ohms(limit)}"
    )


def _below(w: Working, limit: Decimal) -> str:
    """`<x`: within if x + digits · step reaches no further than the limit.

    Metal colder than the reference raises the bound; warmer metal never lowers it, `<x` being no value.
    """
    digits, step = w.instrument.digits, w.reading.step_ohm
    assert w.bound_ohm is not None and digits is not None and w.highest_factor is not None  # noqa: S101
    factor = max(ONE, w.highest_factor)
    most = (w.bound_ohm + digits * step) * factor
    digits_text = f"{plain(digits)} × {w.number(step)}"
    sum_text = f"({w.number(w.bound_ohm)} + {digits_text}){_times(factor)} = {w.ohms(most)}"
    if most <= limit:
        return _say(w, WITHIN, f"At most {sum_text} ≤ {w.ohms(limit)}.")
    return _cannot(w, f"The display says only: at most {sum_text}, above the limit of {w.ohms(limit)}")


def _straddles(w: Working, limit: Decimal, expanded: Decimal, corrected: Decimal) -> bool:
    """Whether the result, with the temperature's bounds, reaches to both sides of the limit."""
    if w.lowest_factor == w.highest_factor:
        return False
    assert w.value_ohm is not None and w.lowest_factor is not None and w.highest_factor is not None  # noqa: S101
    lower = min(corrected - expanded, w.value_ohm * w.lowest_factor)
    upper = max(corrected + expanded, w.value_ohm * w.highest_factor)
    return lower <= limit < upper


def _by_accuracy(w: Working, limit: Decimal, straddles: bool) -> str:
    """The range cannot resolve the limit: only the whole accuracy bound on one side of it decides.

    A range too coarse is told before a temperature that was not taken, which no thermometer would mend.
    """
    value, half_width = w.value_ohm, w.accuracy_ohm
    assert value is not None and half_width is not None  # noqa: S101 - no step has stopped
    assert w.lowest_factor is not None and w.highest_factor is not None  # noqa: S101
    lower_factor = w.lowest_factor if value > half_width else w.highest_factor
    lower, upper = (value - half_width) * lower_factor, (value + half_width) * w.highest_factor
    least = f"({w.number(value)} − {w.number(half_width)}){_times(lower_factor)} = {w.number(lower)}"
    most = f"({w.number(value)} + {w.number(half_width)}){_times(w.highest_factor)} = {w.ohms(upper)}"
    bounds = (
        f"The range cannot resolve the limit, so the accuracy bound decides: at least {least}, at most {most};"
        f" limit {w.ohms(limit)}."
    )
    if upper <= limit or lower > limit:
        if straddles:
            return _cannot(w, STRADDLES)
        return _say(w, WITHIN if upper <= limit else ABOVE, bounds)
    w.stop(f"The range cannot resolve the limit of {w.ohms(limit)}: the value may be up to {w.ohms(upper)}.")
    return _say(w, CANNOT, bounds)


def _times(factor: Decimal) -> str:
    return "" if factor == 1 else f" × {plain(factor)}"


def _simple(w: Working, limit: Decimal, value: Decimal, expanded: Decimal) -> str:
    within = value <= limit
    text = f"Simple: {w.ohms(value)} {'≤' if within else '>'} {w.ohms(limit)}."
    return _say(w, WITHIN if within else ABOVE, text, f"{ILAC} 4.2.1")


def _guarded(w: Working, limit: Decimal, value: Decimal, expanded: Decimal) -> str:
    band = w.limit.guard * expanded
    source = f"{ILAC} 4.2.2"
    head = f"Guarded: w = {plain(w.limit.guard)} × {w.number(expanded)} = {w.ohms(band)};"
    if value <= limit - band:
        text = f"{head} {w.ohms(value)} ≤ {w.number(limit)} − w = {w.ohms(limit - band)}."
        return _say(w, WITHIN, text, source)
    if value > limit + band:
        text = f"{head} {w.ohms(value)} > {w.number(limit)} + w = {w.ohms(limit + band)}."
        return _say(w, ABOVE, text, source)
    span = f"{w.number(limit - band)} and {w.ohms(limit + band)}"
    w.stop(f"{NOT_SHOWN}: {w.ohms(value)} lies in the guard band between {span}.")
    return _say(w, CANNOT, f"{head} {w.ohms(value)} lies between {span}.", source)


def _four_way(w: Working, limit: Decimal, value: Decimal, expanded: Decimal) -> str:
    """Equality goes to the better side, by our convention: the document leaves it open."""
    if value <= limit - expanded:
        w.statement, outcome, why = "pass", WITHIN, f"≤ L − w = {w.ohms(limit - expanded)}"
    elif value <= limit:
        w.statement, outcome, why = "conditional pass", CANNOT, f"≤ L = {w.ohms(limit)}"
    elif value <= limit + expanded:
        w.statement, outcome, why = "conditional fail", CANNOT, f"≤ L + w = {w.ohms(limit + expanded)}"
    else:
        w.statement, outcome, why = "fail", ABOVE, f"> L + w = {w.ohms(limit + expanded)}"
    if outcome == CANNOT:
        w.stop(f"{NOT_SHOWN}: {w.statement}.")
    text = f"Four-way: w = U = {w.ohms(expanded)}; {w.ohms(value)} {why}: {w.statement}."
    return _say(w, outcome, text, f"{ILAC} 4.2.3")
