"""Step plausibility: questions about a value, never an accusation and never an outcome.

Units: SI. Valid as questions to the person who measured, never as findings. Source: R = ρ L / A; the bounds 0.8 and 2
are common practice, no published source.
"""

from decimal import Decimal

from inspections.calculations.conductors import CEILING, FLOOR, TWENTY_C, conductor_ohm
from inspections.calculations.printing import NBSP, plain, resistance
from inspections.calculations.temperature import correction
from inspections.rules.judging.change import last_like
from inspections.rules.judging.facts import SOIL, Material
from inspections.rules.judging.state import Working

LEAST_RATIO = Decimal(300)
GREATEST_RATIO = Decimal(3000)
SQUARE_MILLIMETRES = Decimal(1000000)


def plausibility(w: Working) -> None:
    """Floor and ceiling from the conductor's own metal; a factor of a thousand against the last reading."""
    metal = _conductor(w)
    if metal is None:
        w.say("plausibility", _no_conductor(w))
    else:
        _floor_and_ceiling(w, metal)
    _thousand(w)


def _conductor(w: Working) -> Material | None:
    """The metal of a path whose length and section are recorded; None where a floor has no ground."""
    point = w.point
    metal = point.material
    if metal is None or metal.resistivity_ohm_m is None or point.quantity in SOIL:
        return None
    return None if point.length_m is None or point.section_m2 is None else metal


def _no_conductor(w: Working) -> str:
    if w.point.quantity in SOIL:
        return "Soil has no floor or ceiling from length and section."
    return "Length, section and resistivity of the path are not all recorded: no floor or ceiling."


def _alone(w: Working, metal: Material, length_m: Decimal, section_m2: Decimal) -> tuple[str, Decimal]:
    """The path in words, and what it alone has at its own temperature [ohm]; at 20 °C where that is not known."""
    assert metal.resistivity_ohm_m is not None  # noqa: S101 - checked by the caller
    cold = conductor_ohm(metal.resistivity_ohm_m, length_m, section_m2)
    length, section = plain(length_m), plain((section_m2 * SQUARE_MILLIMETRES).normalize())
    path = f"{length}{NBSP}m of {section}{NBSP}mm² {metal.name}"
    resistivity = plain(metal.resistivity_ohm_m * SQUARE_MILLIMETRES)
    text = f"{path} alone: {resistivity} × {length} / {section} = {plain(cold)}{NBSP}Ω at 20{NBSP}°C"
    alone = cold
    if w.metal_c is not None and w.metal_c != TWENTY_C and metal.alpha_per_k is not None:
        factor = correction(metal.alpha_per_k, metal.alpha_at_c, TWENTY_C, w.metal_c).factor
        alone = cold * factor
        text += f", {plain(cold)} × {plain(factor)} = {plain(alone)}{NBSP}Ω at {plain(w.metal_c)}{NBSP}°C"
    low, high, middle = w.ohms(alone * FLOOR), w.ohms(alone * CEILING), w.number(alone)
    w.say(
        "plausibility",
        f"{text}; floor 0.8 × {middle} = {low}, ceiling 2 × {middle} = {high}.",
        metal.source,
    )
    return path, alone


def _floor_and_ceiling(w: Working, metal: Material) -> None:
    """As found, both at the metal's temperature: the bounds are taken back from the reference temperature."""
    point, value = w.point, w.value_ohm
    assert point.length_m is not None and point.section_m2 is not None  # noqa: S101 - checked by the caller
    path, alone = _alone(w, metal, point.length_m, point.section_m2)
    if value is None or value < 0:
        return
    spread = Decimal(0) if w.expanded_ohm is None or not w.factor else w.expanded_ohm / w.factor
    if value + spread < alone * FLOOR and not point.parallel_paths:
        w.ask(
            f"{w.ohms(value)} is less than {path} alone can be ({w.ohms(alone)}): is there a parallel path?"
        )
    if value - spread > alone * CEILING:
        w.ask(f"{w.ohms(value)} is more than twice what {path} alone is ({w.ohms(alone)}): a joint between?")


def _thousand(w: Working) -> None:
    like = last_like(w) if w.history else None
    now = w.corrected_ohm
    if like is None or now is None or not now or not like.corrected_ohm:
        return
    ratio = now / like.corrected_ohm
    inverse = 1 / ratio
    if LEAST_RATIO <= ratio <= GREATEST_RATIO or LEAST_RATIO <= inverse <= GREATEST_RATIO:
        times = f"{plain(ratio, 3)} times" if ratio > 1 else f"1/{plain(inverse, 3)} of"
        before = resistance(like.corrected_ohm, None, 3)
        w.say("plausibility", f"The value is {times} the last like reading, {before}.")
        w.ask(f"The value is {times} the last like reading ({before}): is it the same unit?")
