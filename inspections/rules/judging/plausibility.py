"""Step plausibility: questions about a value, never an accusation and never an outcome.

Units: SI. Valid as questions to the person who measured, never as findings. Source: R = ρ L / A; the bounds 0.8 and 2
are common practice, no published source.
"""

from decimal import Decimal

from inspections.calculations.conductors import CEILING, FLOOR, TWENTY_C, conductor_ohm
from inspections.calculations.display import UNDER
from inspections.calculations.printing import NBSP, plain, resistance
from inspections.calculations.temperature import correction
from inspections.rules.judging.change import last_like
from inspections.rules.judging.facts import SOIL, Material
from inspections.rules.judging.range_and_unit import accuracy_half_width_ohm
from inspections.rules.judging.state import Working

ASKED_RATIO = Decimal(100)
LEAST_RATIO = Decimal(300)
GREATEST_RATIO = Decimal(3000)
AS_DISPLAYED = "are unit and decimal point those of the display?"
SQUARE_MILLIMETRES = Decimal(1000000)


def plausibility(w: Working) -> None:
    """Floor and ceiling from the conductor's own metal; a step of a hundred times against the last like reading.

    Between 300 and 3000 times the unit is the first thing to ask for: milli and micro are a thousand apart.
    """
    metal = _conductor(w)
    if metal is None:
        w.say("plausibility", _no_conductor(w))
    else:
        _floor_and_ceiling(w, metal)
    _against_last(w)


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


def _against_last(w: Working) -> None:
    """A factor that no electrode or joint changes by between two visits; or nothing where something can be shown."""
    like = last_like(w) if w.history else None
    if like is None or not like.corrected_ohm:
        return
    now = w.corrected_ohm
    before = resistance(like.corrected_ohm, None, 3)
    if now:
        _ratio(w, now / like.corrected_ohm, before)
    elif w.as_third:
        return
    elif now is not None and _can_be_shown(w, like.corrected_ohm):
        w.say(
            "plausibility",
            f"The value is zero; the last like reading was {before}, which this range can show.",
        )
        w.ask(
            f"The value is zero and the last like reading was {before}: are the clips on the point, or on each other?"
        )
    elif w.display.kind == UNDER and w.bound_ohm and like.corrected_ohm >= ASKED_RATIO * w.bound_ohm:
        w.say("plausibility", f"The last like reading was {before}, a hundred times this bound or more.")
        w.ask(f"The display says less than a hundredth of the last like reading ({before}): {AS_DISPLAYED}")


def _ratio(w: Working, ratio: Decimal, before: str) -> None:
    inverse = 1 / ratio
    greater = max(ratio, inverse)
    of_a_thousand = LEAST_RATIO <= greater <= GREATEST_RATIO
    if greater < ASKED_RATIO or (w.as_third and not of_a_thousand):
        return
    times = f"{plain(ratio, 3)} times" if ratio > 1 else f"1/{plain(inverse, 3)} of"
    w.say("plausibility", f"The value is {times} the last like reading, {before}.")
    asked = "is it the same unit?" if of_a_thousand else AS_DISPLAYED
    w.ask(f"The value is {times} the last like reading ({before}): {asked}")


def _can_be_shown(w: Working, ohm: Decimal) -> bool:
    """Whether a value stands out of what the range cannot tell from nothing: its accuracy there, or else its step."""
    accuracy = accuracy_half_width_ohm(w, ohm)
    return (w.reading.step_ohm if accuracy is None else accuracy) < ohm
