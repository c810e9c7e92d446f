"""Soil resistivity from a four-pin test, and what a soil of two layers makes of it.

Binary floats: no verdict hangs on these numbers, and the soil itself is known to a few per cent.
"""

import math
from collections.abc import Callable
from itertools import pairwise

WENNER_SOURCE = "Wenner's four-pin method, as in IEEE Std 81-2012: ρ = 2π a R, and with the pins' depth b"
WENNER_VALIDITY = (
    "Four pins in a straight line at equal spacing. Without a depth: pins no deeper than a twentieth of the"
    " spacing (0.44 % at that depth). With a depth: pins no deeper than they are apart."
)
TWO_LAYER_SOURCE = (
    "image series of the four-pin test over two level layers (Tagg; IEEE Std 81), summed to its end"
)
TWO_LAYER_VALIDITY = (
    "Two level layers, pins at the surface; spacing at most 10 000 times the upper layer's thickness."
)
WIDEST_SPACING = 10_000.0
SMALLEST_SHARE = 1e-18
TERMS_PER_SCALE = 50

# Gauss-Legendre on (0, 1), eight points: (place, weight) of one side; the other mirrors it.
_GAUSS = (
    (0.183434642495650, 0.362683783378362),
    (0.525532409916329, 0.313706645877887),
    (0.796666477413627, 0.222381034453374),
    (0.960289856497536, 0.101228536290376),
)


def require_positive(**named: float) -> None:
    """Raises: ValueError with a sentence for any value, in whatever unit, that is not above zero and finite.

    Valid for numbers of any unit; the name of the argument stands in the sentence. Source: this product's rule
    """
    for name, value in named.items():
        if not (value > 0 and math.isfinite(value)):
            raise ValueError(f"The {name.replace('_', ' ')} must be above zero.")


def wenner_resistivity_ohm_m(spacing_m: float, resistance_ohm: float, depth_m: float | None = None) -> float:
    """Apparent soil resistivity from a four-pin test [ohm*m].

    spacing_m: between neighbouring pins [m]
    resistance_ohm: voltage over current, as read [ohm]
    depth_m: how deep the pins are driven [m]; None takes them as points at the surface
    Raises: ValueError outside validity
    Valid for four pins in line; without a depth while they are no deeper than spacing / 20, with one while
        they are no deeper than the spacing.
    Source: IEEE Std 81-2012, Wenner: ρ = 4π a R / (1 + 2a/√(a² + 4b²) − a/√(a² + b²)); b = 0 gives 2π a R

    >>> round(wenner_resistivity_ohm_m(3, 2.5), 4)
    47.1239
    """
    require_positive(spacing=spacing_m, resistance=resistance_ohm)
    if depth_m is None:
        return 2 * math.pi * spacing_m * resistance_ohm
    if not 0 <= depth_m <= spacing_m:
        raise ValueError("The pins' depth must be zero or more, and no more than their spacing.")
    return 4 * math.pi * spacing_m * resistance_ohm / wenner_depth_divisor(spacing_m, depth_m)


def wenner_depth_divisor(spacing_m: float, depth_m: float) -> float:
    """1 + 2a/√(a² + 4b²) − a/√(a² + b²), without a unit: 2 for pins at the surface.

    spacing_m: [m]; depth_m: [m]
    Valid for a depth from zero to the spacing, as checked by `wenner_resistivity_ohm_m`.
    Source: IEEE Std 81-2012, Wenner
    """
    a, b = spacing_m, depth_m
    return 1 + 2 * a / math.hypot(a, 2 * b) - a / math.hypot(a, b)


def reflection_factor(upper_ohm_m: float, lower_ohm_m: float) -> float:
    """k = (ρ₂ − ρ₁)/(ρ₂ + ρ₁), without a unit: below zero where the lower layer conducts better.

    upper_ohm_m, lower_ohm_m: resistivity of the layers [ohm*m]
    Raises: ValueError where one is not above zero
    Valid for any two resistivities above zero. Source: method of images (Tagg; IEEE Std 81)
    """
    require_positive(upper_resistivity=upper_ohm_m, lower_resistivity=lower_ohm_m)
    return (lower_ohm_m - upper_ohm_m) / (lower_ohm_m + upper_ohm_m)


def two_layer_apparent_ohm_m(
    upper_ohm_m: float, lower_ohm_m: float, thickness_m: float, spacing_m: float
) -> float:
    """What a four-pin test at this spacing shows over two layers [ohm*m].

    upper_ohm_m, lower_ohm_m: resistivity of the layers [ohm*m]
    thickness_m: of the upper layer [m]; spacing_m: between neighbouring pins [m]
    Raises: ValueError outside validity
    Valid for level layers, pins at the surface, and a spacing of at most 10 000 thicknesses.
    Source: image series ρₐ = ρ₁ (1 + 4 Σ kⁿ [1/√(1 + (2nh/a)²) − 1/√(4 + (2nh/a)²)]) (Tagg; IEEE Std 81)

    >>> round(two_layer_apparent_ohm_m(100, 300, 2, 16), 4)
    262.9185
    """
    require_positive(thickness=thickness_m, spacing=spacing_m)
    if spacing_m > WIDEST_SPACING * thickness_m:
        raise ValueError("The spacing is more than 10 000 times the upper layer's thickness.")
    k = reflection_factor(upper_ohm_m, lower_ohm_m)
    return upper_ohm_m * (1 + 4 * image_sum(k, thickness_m / spacing_m))


def image_sum(reflection: float, thickness_over_spacing: float) -> float:
    """Σ kⁿ [1/√(1 + (2nh/a)²) − 1/√(4 + (2nh/a)²)] over n from 1 on, without a unit.

    reflection: k, between −1 and 1; thickness_over_spacing: h/a
    The sum is taken until kⁿ is below 1e-18, or until n passes fifty times a/2h; from there on the terms are
    smooth and the rest is added as an integral (k above zero) or by averaging (k below zero).
    Raises: ValueError outside validity
    Valid for |k| below 1 and h/a from 1e-4 on. Source: image series (Tagg; IEEE Std 81)
    """
    c = 2 * thickness_over_spacing
    if not (abs(reflection) < 1 and thickness_over_spacing >= 1 / WIDEST_SPACING):
        raise ValueError("The reflection factor must lie between −1 and 1, h/a must be 0.0001 or more.")
    last = math.ceil(TERMS_PER_SCALE * max(1.0, 1 / c))
    partial, share = [0.0], 1.0
    for n in range(1, last + 1):
        share *= reflection
        if abs(share) < SMALLEST_SHARE:
            return partial[-1]
        partial.append(partial[-1] + share * _image_term(n, c))
    if reflection < 0:
        return _averaged(partial[-24:])
    return partial[-1] + _smooth_rest(reflection, c, last)


def _image_term(n: float, c: float) -> float:
    x = n * c
    return 1 / math.hypot(1, x) - 1 / math.hypot(2, x)


def _averaged(partial: list[float]) -> float:
    """Euler's transformation of an alternating sum: means of neighbouring partial sums, again and again."""
    while len(partial) > 1:
        partial = [(a + b) / 2 for a, b in pairwise(partial)]
    return partial[0]


def _smooth_rest(k: float, c: float, last: int) -> float:
    """Σ over n > last as ∫ from last + ½ on, with the first correction of Euler and Maclaurin."""

    def term(n: float) -> float:
        return math.exp(n * math.log(k)) * _image_term(n, c)

    start = last + 0.5
    slope = term(last + 1) - term(last)
    return _integral_to_infinity(term, start) + slope / 24


def _integral_to_infinity(term: Callable[[float], float], start: float, panels: int = 8) -> float:
    """∫ term from start on, by n = start/t and Gauss-Legendre on each panel of t from 0 to 1."""
    total, width = 0.0, 1 / panels
    for panel in range(panels):
        middle = (panel + 0.5) * width
        for place, weight in _GAUSS:
            for side in (-place, place):
                t = middle + side * width / 2
                total += weight * width / 2 * term(start / t) * start / (t * t)
    return total
