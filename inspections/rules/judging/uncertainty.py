"""Step uncertainty: the budget of the corrected value, one line a component, and its bounds.

Units: SI. Valid for independent components. Source: JCGM 100:2008 (GUM).
"""

from decimal import Decimal

from inspections.calculations.printing import NBSP, plain
from inspections.calculations.temperature import temperature_half_width_ohm
from inspections.calculations.uncertainty import (
    GUM,
    SQRT_3,
    SQRT_12,
    TWO,
    effective_degrees,
    rectangular,
    resolution,
    standard_deviation_of_mean,
    student_t_95,
)
from inspections.rules.judging.facts import Component
from inspections.rules.judging.range_and_unit import accuracy_half_width_ohm, accuracy_text
from inspections.rules.judging.state import Working

RECTANGULAR = "rectangular"
ONE_STEP = "rectangular, one step wide"
TYPE_A = "Type A, standard deviation of the mean"
ONE = Decimal(1)


def uncertainty(w: Working) -> None:
    """U of the corrected value: 2 u, or t₀.₉₅(ν_eff) · u where repeats scatter."""
    if w.corrected_ohm is None or w.shown_ohm is None or w.factor is None:
        return
    w.accuracy_ohm = accuracy_half_width_ohm(w, w.shown_ohm)
    if w.accuracy_ohm is None:
        w.say("uncertainty", "The instrument's accuracy is not known: no bounds can be given.")
        w.stop("The instrument's accuracy on this range is not known.")
        return
    squares = _accuracy(w, w.accuracy_ohm, w.factor) + _step(w, w.factor) + _temperature(w, w.corrected_ohm)
    scatter = _scatter(w, w.factor)
    _combine(w, (squares + scatter * scatter).sqrt(), scatter, w.corrected_ohm)


def _times_factor(w: Working, factor: Decimal) -> str:
    return "" if factor == 1 else f" × {plain(factor)}"


def _accuracy(w: Working, half_width: Decimal, factor: Decimal) -> Decimal:
    part = rectangular(half_width) * factor
    assert w.shown_ohm is not None  # noqa: S101 - checked by the caller
    w.say(
        "uncertainty",
        f"Accuracy: ({accuracy_text(w, w.shown_ohm)}){_times_factor(w, factor)} / √3 = {w.ohms(part)}.",
        f"{GUM}, rectangular",
    )
    w.budget.append(Component("accuracy", half_width, RECTANGULAR, SQRT_3, factor, part))
    return part * part


def _step(w: Working, factor: Decimal) -> Decimal:
    part = resolution(w.reading.step_ohm) * factor
    step = w.number(w.reading.step_ohm)
    w.say(
        "uncertainty",
        f"Step: {step}{_times_factor(w, factor)} / √12 = {w.ohms(part)}.",
        f"{GUM}, rectangular",
    )
    w.budget.append(Component("step", w.reading.step_ohm, ONE_STEP, SQRT_12, factor, part))
    return part * part


def _temperature(w: Working, corrected: Decimal) -> Decimal:
    if w.accuracy_k is None or w.alpha_per_k is None:
        return Decimal(0)
    half_width = temperature_half_width_ohm(corrected, w.alpha_per_k, w.accuracy_k)
    part = rectangular(half_width)
    w.budget.append(Component("temperature", half_width, RECTANGULAR, SQRT_3, ONE, part))
    w.say(
        "uncertainty",
        f"Temperature: {w.number(corrected)} × {plain(w.alpha_per_k)} × {plain(w.accuracy_k)} / √3"
        f" = {w.ohms(part)}; {plain(w.alpha_per_k)}{NBSP}/K is the coefficient at the metal's temperature.",
        f"{GUM}, rectangular",
    )
    return part * part


def _scatter(w: Working, factor: Decimal) -> Decimal:
    """Type A: the standard deviation of the mean of the repeats."""
    if len(w.displays) < 2:
        return Decimal(0)
    found = standard_deviation_of_mean(w.displays)
    part = found * factor
    w.budget.append(Component("repeats", found, TYPE_A, ONE, factor, part, Decimal(len(w.displays) - 1)))
    times = "" if factor == 1 else f" × {plain(factor)} = {w.number(part)}"
    w.say(
        "uncertainty",
        f"Repeats: standard deviation of the mean of {len(w.displays)} displays: {w.number(found)}{times}"
        f"{NBSP}{w.unit}.",
        f"{GUM}, Type A",
    )
    return part


def _combine(w: Working, standard: Decimal, scatter: Decimal, corrected: Decimal) -> None:
    degrees = None
    if scatter:
        degrees = effective_degrees(standard, [(scatter, Decimal(len(w.displays) - 1))])
    factor = TWO if degrees is None else student_t_95(degrees)
    w.standard_ohm, w.coverage, w.degrees = standard, factor, degrees
    w.expanded_ohm = expanded = factor * standard
    cover = (
        "2"
        if degrees is None
        else f"t for 95{NBSP}% at {plain(degrees)} degrees of freedom = {plain(factor)}"
    )
    source = f"{GUM}, k = 2" if degrees is None else f"{GUM}, Welch-Satterthwaite"
    w.say(
        "uncertainty",
        f"Together: u = √(sum of squares) = {w.ohms(standard)}; k = {cover}; U = k · u = {w.ohms(expanded)};"
        f" bounds {w.number(corrected)} ± U = {w.number(corrected - expanded)} and"
        f" {w.ohms(corrected + expanded)}.",
        source,
    )
