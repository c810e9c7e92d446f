"""Several electrodes joined: plain parallel where their resistance areas keep apart, and rods that share soil.

Plain parallel and the check of a whole against its parts are exact Decimals. The rods' interaction is in binary
floats: soil is known to a few per cent, and no verdict hangs on it.
"""

import math
from collections.abc import Sequence
from decimal import Decimal, localcontext
from itertools import combinations
from typing import NamedTuple

from inspections.calculations.electrodes import rod_ohm
from inspections.calculations.soil import require_positive

PARALLEL_SOURCE = "1/R = Σ 1/Rᵢ: resistances side by side"
PARALLEL_VALIDITY = (
    "Resistances above zero that do not share soil: electrodes further apart than they are long (AS/NZS 1768 as"
    " reported); closer ones come out too low."
)
AGREES = "agrees"
LOWER = "other earths joined?"
HIGHER = "a connection open?"

# Distances come out of coordinates: rods set exactly at the bound are not refused for the last binary digit.
ROUNDING = 1 - 1e-9

Place = tuple[float, float]


def parallel_ohm(resistances_ohm: Sequence[Decimal]) -> Decimal:
    """Resistances side by side: 1/Σ(1/R) [ohm].

    resistances_ohm: [ohm], each above zero
    Raises: ValueError for none, or one that is not above zero
    Valid for electrodes whose resistance areas do not overlap, and for any conductors side by side.
    Source: Kirchhoff's laws

    >>> parallel_ohm([Decimal(48), Decimal(52)])
    Decimal('24.96')
    """
    if not resistances_ohm:
        raise ValueError("Write at least one resistance.")
    if min(resistances_ohm) <= 0:
        raise ValueError("Each resistance must be above zero.")
    if len(resistances_ohm) == 1:
        return resistances_ohm[0]
    if len(resistances_ohm) == 2:  # no reciprocal is rounded
        first, second = resistances_ohm
        return first * second / (first + second)
    with localcontext(prec=50):
        total = sum((1 / part for part in resistances_ohm), Decimal(0))
        found = 1 / total
    return +found


class WholeAgainstParts(NamedTuple):
    """expected_ohm: the parts side by side [ohm]; ratio: whole over expected; finding: AGREES, LOWER, HIGHER."""

    expected_ohm: Decimal
    ratio: Decimal
    finding: str


def whole_against_parts(
    whole_ohm: Decimal, parts_ohm: Sequence[Decimal], allowed_percent: Decimal = Decimal(30)
) -> WholeAgainstParts:
    """The whole earth against its electrodes measured one by one, each isolated.

    whole_ohm: with all joined [ohm]; parts_ohm: each by itself [ohm]
    allowed_percent: how far the whole may lie from the parts side by side before it asks [%]; the bound agrees
    Raises: ValueError for a value that is not above zero
    Valid for one method throughout, in one season, and areas that do not overlap; overlap lifts the whole.
    Source: parallel resistances; 30 % is the operating uncertainty IEC 61557 leaves such instruments

    >>> whole_against_parts(Decimal(12), [Decimal(48), Decimal(52)]).finding
    'other earths joined?'
    """
    if whole_ohm <= 0 or allowed_percent < 0:
        raise ValueError("The whole must be above zero, and the allowed difference not below zero.")
    expected = parallel_ohm(parts_ohm)
    away = (whole_ohm - expected) * 100
    bound = expected * allowed_percent
    finding = AGREES if abs(away) <= bound else LOWER if away < 0 else HIGHER
    return WholeAgainstParts(expected, whole_ohm / expected, finding)


def single_limit_ohm(whole_limit_ohm: Decimal, electrodes: int, times: Decimal = Decimal(1)) -> Decimal:
    """What one of n electrodes may come to where a rule says so: times · n · the whole's limit [ohm].

    whole_limit_ohm: [ohm]; electrodes: how many make up the whole; times: the rule's own factor, without a unit
    Raises: ValueError for a limit, a number or a factor that is not above zero
    Valid only where an adopted rule asks for it (national and older practice); it is no law of electricity.
    Source: common practice, no published source: n equal electrodes side by side come to one nth of one

    >>> single_limit_ohm(Decimal(10), 4)
    Decimal('40')
    """
    if whole_limit_ohm <= 0 or electrodes < 1 or times <= 0:
        raise ValueError("The limit, the number of electrodes and the factor must be above zero.")
    return times * electrodes * whole_limit_ohm


def line_of_rods(number: int, spacing_m: float) -> list[Place]:
    """Where rods stand in a straight line [m]. Raises: ValueError below two rods or a spacing not above zero.

    spacing_m: between neighbours [m]. Valid for two rods or more. Source: geometry
    """
    require_positive(spacing=spacing_m)
    if number < 2:
        raise ValueError("A line has two rods or more.")
    return [(place * spacing_m, 0.0) for place in range(number)]


def hollow_square_of_rods(along_side: int, spacing_m: float) -> list[Place]:
    """Where 4 (n − 1) rods stand around a square, n along each side [m].

    spacing_m: between neighbours [m]. Raises: ValueError below two along a side or a spacing not above zero
    Valid for two or more along each side. Source: geometry
    """
    require_positive(spacing=spacing_m)
    if along_side < 2:
        raise ValueError("A square has two rods or more along each side.")
    last = along_side - 1
    return [
        (x * spacing_m, y * spacing_m)
        for x in range(along_side)
        for y in range(along_side)
        if x in (0, last) or y in (0, last)
    ]


def interaction_factor(places_m: Sequence[Place], spacing_m: float) -> float:
    """λ, without a unit: what the others add to a rod, as a multiple of one neighbour at the spacing.

    λ = (s/n) Σ over all pairs of 2/distance; for a line (2/n) Σ (n − k)/k.
    places_m: of the rods [m]; spacing_m: the one λ refers to [m]
    Raises: ValueError for fewer than two rods or two in one place
    Valid where each rod carries the same current and is seen from the next as a point.
    Source: BS 7430, λ of lines and hollow squares (from memory), which this reproduces within 1.3 %

    >>> round(interaction_factor(line_of_rods(3, 1), 1), 3)
    1.667
    """
    require_positive(spacing=spacing_m)
    inverse = sum(1 / distance for distance in _distances_m(places_m))
    return 2 * spacing_m / len(places_m) * inverse


def _distances_m(places_m: Sequence[Place]) -> list[float]:
    if len(places_m) < 2:
        raise ValueError("Rods together are two or more.")
    distances = [math.dist(a, b) for a, b in combinations(places_m, 2)]
    if min(distances) <= 0:
        raise ValueError("Two rods stand in the same place.")
    return distances


def rods_apart_ohm(
    resistivity_ohm_m: float, length_m: float, diameter_m: float, places_m: Sequence[Place]
) -> float:
    """Rods in parallel that see each other as points: R_n = R₁ (1 + λa)/n, a = ρ/(2πR₁s) [ohm].

    resistivity_ohm_m: of even soil [ohm*m]; length_m, diameter_m: of each rod [m]; places_m: where they stand [m]
    Raises: ValueError outside validity
    Valid for equal rods, none closer to another than its length.
    Source: BS 7430 (from memory); for three rods in a triangle ρ/(6πL) [ln(8L/d) − 1 + 2L/s]

    >>> places = [(0, 0), (3, 0), (1.5, 3 * 0.75**0.5)]
    >>> round(rods_apart_ohm(100, 3, 0.016, places), 3)
    14.701
    """
    single = rod_ohm(resistivity_ohm_m, length_m, diameter_m)
    spacing = min(_distances_m(places_m))
    if spacing < length_m * ROUNDING:
        raise ValueError("The rods must stand no closer than they are long.")
    share = resistivity_ohm_m / (2 * math.pi * single * spacing)
    return single * (1 + interaction_factor(places_m, spacing) * share) / len(places_m)


def mutual_rods_ohm(resistivity_ohm_m: float, length_m: float, spacing_m: float) -> float:
    """What one ampere into a rod lifts another beside it by: ρ/(2πL) [arsinh(x) + 1/x − √(1 + 1/x²)], x = 2L/s [ohm].

    resistivity_ohm_m: of even soil [ohm*m]; length_m: of both rods [m]; spacing_m: between them [m]
    Raises: ValueError for a value that is not above zero
    Valid for two equal upright rods from the surface, the current leaving each evenly along its length.
    Source: mean potential of a straight conductor (Dwight 1936); far apart it tends to ρ/(2πs)
    """
    require_positive(resistivity=resistivity_ohm_m, length=length_m, spacing=spacing_m)
    x = 2 * length_m / spacing_m
    # For distant rods the three terms cancel to x/2 − x³/24 + x⁵/160.
    shape = math.asinh(x) + 1 / x - math.hypot(1, 1 / x) if x > 1e-2 else x / 2 - x**3 / 24
    return resistivity_ohm_m / (2 * math.pi * length_m) * shape


def rods_close_ohm(
    resistivity_ohm_m: float, length_m: float, diameter_m: float, places_m: Sequence[Place]
) -> float:
    """Rods in parallel at any spacing, each carrying the same current: (R₁ + (2/n) Σ pairs R₁₂)/n [ohm].

    resistivity_ohm_m: of even soil [ohm*m]; length_m, diameter_m: of each rod [m]; places_m: where they stand [m]
    Raises: ValueError outside validity
    Valid for equal rods no closer than ten diameters. Rods in the middle of a field carry less than their share,
        so that a field of 5 × 5 comes out 1.5 % high.
    Source: mutual resistance as in `mutual_rods_ohm`; IEEE Std 142's factors for rods around a square lie
        within 5 % of it, those of a straight line are up to 19 % higher
    """
    single = rod_ohm(resistivity_ohm_m, length_m, diameter_m)
    distances = _distances_m(places_m)
    if min(distances) < 10 * diameter_m * ROUNDING:
        raise ValueError("The rods must stand at least ten diameters apart.")
    number = len(places_m)
    mutual = sum(mutual_rods_ohm(resistivity_ohm_m, length_m, distance) for distance in distances)
    return (single + 2 * mutual / number) / number
