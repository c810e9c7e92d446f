"""Step temperature: a metal's value at the temperature its limit holds for. Soil is never corrected.

Units: SI, degrees Celsius. Valid for metals only, −100 to 300 °C. Source: linear law, NBS Handbook 100 (1966).
"""

from decimal import Decimal

from inspections.calculations import temperature as law
from inspections.calculations.display import OVER
from inspections.calculations.printing import NBSP, plain
from inspections.rules.judging.facts import NOT_TAKEN, SOIL, Material
from inspections.rules.judging.state import Working

COLDEST_C = Decimal(-20)
HOTTEST_C = Decimal(60)
SPAN = f"{plain(COLDEST_C)} to {plain(HOTTEST_C)}{NBSP}°C"
MIDDLE_C = (COLDEST_C + HOTTEST_C) / 2
HALF_WIDTH_K = (HOTTEST_C - COLDEST_C) / 2
UNSTATED_ACCURACY_K = Decimal(2)
ONE = Decimal(1)


def temperature(w: Working) -> None:
    """Fills factor and corrected value, or stops where the metal's coefficient is not known."""
    reference_c = w.limit.reference_temperature_c
    taken_c = None if w.reading.temperature_source == NOT_TAKEN else w.reading.temperature_c
    w.metal_c = taken_c
    if taken_c is not None and not w.as_third and not COLDEST_C <= taken_c <= HOTTEST_C:
        w.ask(
            f"{plain(taken_c)}{NBSP}°C lies outside {SPAN}, where a conductor mostly is: was it read so, in °C?"
        )
    if w.point.quantity in SOIL:
        _uncorrected(w, "Soil is never corrected for temperature.")
    elif reference_c is None:
        _uncorrected(w, "The limit holds as found: no correction.")
    elif taken_c is None:
        _bounded(w, reference_c)
    else:
        _corrected(w, taken_c, reference_c)
    if w.value_ohm is not None and w.value_ohm >= 0 and w.factor is not None:
        w.corrected_ohm = w.value_ohm * w.factor


def _uncorrected(w: Working, why: str) -> None:
    w.factor = w.lowest_factor = w.highest_factor = ONE
    w.say("temperature", f"{why}{_metal(w)}")


def _metal(w: Working) -> str:
    if w.metal_c is None:
        return " Temperature not taken."
    return (
        f" Temperature {plain(w.metal_c)}{NBSP}°C ({w.reading.temperature_source or 'source not recorded'})."
    )


def _corrected(w: Working, taken_c: Decimal, reference_c: Decimal) -> None:
    metal = w.point.material
    if metal is None or metal.alpha_per_k is None:
        _without_coefficient(w, taken_c, reference_c)
        return
    given = w.reading.temperature_accuracy_k
    w.accuracy_k = UNSTATED_ACCURACY_K if given is None else given
    found = law.correction(metal.alpha_per_k, metal.alpha_at_c, taken_c, reference_c)
    w.factor = w.lowest_factor = w.highest_factor = found.factor
    w.alpha_per_k = found.alpha_per_k
    stated = "" if given is not None else ", accuracy not stated"
    source = w.reading.temperature_source or "source not recorded"
    w.say(
        "temperature",
        f"Metal at {plain(taken_c)}{NBSP}°C ({source}, ±{NBSP}{plain(w.accuracy_k)}{NBSP}K{stated}),"
        f" {_law_text(metal, metal.alpha_per_k, taken_c, reference_c)} = {plain(found.factor)};"
        f" {_product(w, found.factor, reference_c)}.",
        metal.source or law.SOURCE,
    )


def _law_text(metal: Material, alpha: Decimal, taken_c: Decimal, reference_c: Decimal) -> str:
    given = f"{metal.name}, α = {plain(alpha)}{NBSP}/K at {plain(metal.alpha_at_c)}{NBSP}°C: factor "
    under = f"(1 + {plain(alpha)} × ({plain(taken_c)} − {plain(metal.alpha_at_c)}))"
    if reference_c == metal.alpha_at_c:
        return f"{given}1 / {under}"
    return f"{given}(1 + {plain(alpha)} × ({plain(reference_c)} − {plain(metal.alpha_at_c)})) / {under}"


def _product(w: Working, factor: Decimal, reference_c: Decimal) -> str:
    """The value times its factor as printed, or the over-range bound times it, or that there is none."""
    value, name = w.value_ohm, ""
    if w.display.kind == OVER:
        value, name = w.bound_ohm, "bound "
    if value is None or value < 0:
        return "there is no value to correct"
    at = f"at {plain(reference_c)}{NBSP}°C"
    return f"{name}{w.number(value)} × {plain(factor)} = {w.ohms(value * factor)} {at}"


def _without_coefficient(w: Working, taken_c: Decimal | None, reference_c: Decimal) -> None:
    metal = w.point.material
    name = "the material is not recorded" if metal is None else f"none is known for {metal.name}"
    if taken_c == reference_c:
        at = f"{plain(reference_c)}{NBSP}°C"
        _uncorrected(w, f"Read at the limit's own temperature, {at}: nothing to correct.")
        return
    w.say("temperature", f"No temperature coefficient: {name}.{_metal(w)}")
    w.stop(
        f"The value cannot be corrected to {plain(reference_c)}{NBSP}°C: no temperature coefficient, {name}."
    )


def _bounded(w: Working, reference_c: Decimal) -> None:
    """Not taken: anything from −20 to 60 °C, rectangular about 20 °C."""
    metal = w.point.material
    if metal is None or metal.alpha_per_k is None:
        _without_coefficient(w, None, reference_c)
        return
    alpha, at_c = metal.alpha_per_k, metal.alpha_at_c
    middle = law.correction(alpha, at_c, MIDDLE_C, reference_c)
    ends = [law.correction(alpha, at_c, end, reference_c).factor for end in (COLDEST_C, HOTTEST_C)]
    w.factor, w.alpha_per_k = middle
    w.lowest_factor, w.highest_factor = min(ends), max(ends)
    w.accuracy_k = HALF_WIDTH_K
    w.say(
        "temperature",
        f"Temperature not taken: anything from {SPAN} is possible;"
        f" {_law_text(metal, alpha, MIDDLE_C, reference_c)} = {plain(middle.factor)} in the middle,"
        f" {plain(w.lowest_factor)} to {plain(w.highest_factor)} at the ends;"
        f" {_product(w, middle.factor, reference_c)}.",
        metal.source or law.SOURCE,
    )
