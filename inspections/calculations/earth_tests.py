"""Measuring an earth electrode: where the probes stand, whether the readings make a plateau, what a loop holds.

What a verdict hangs on (plateau, three points, loop) is exact Decimal; the placing of probes is in binary floats.
"""

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from inspections.calculations.rods_together import parallel_ohm
from inspections.calculations.soil import require_positive
from inspections.calculations.spread import exceeds_spread, mean, spread_percent

SLOPE_SOURCE = "slope method: G. F. Tagg, Proc. IEE 117 (1970), recomputed from its model"
SLOPE_VALIDITY = (
    "µ from 0.40 to 1.59, the span of the published tables. Beyond it move the current probe further out."
)
LEAST_MU = 0.40
GREATEST_MU = 1.59
ILL_CONDITIONED = Decimal(5)
METAL_LOOP_OHM = Decimal(1)


def potential_probe_m(current_probe_m: float) -> float:
    """Where the potential probe reads the electrode itself: 0.618 of the way to the current probe [m].

    current_probe_m: from the electrode's middle to the current probe [m]
    Raises: ValueError for a distance that is not above zero
    Valid for even soil, a current probe far outside the electrode's resistance area, and probes in line.
    Source: P² + PC − C² = 0, so P = C (√5 − 1)/2 (hemisphere; the trade rounds to 62 %)

    >>> round(potential_probe_m(100), 4)
    61.8034
    """
    require_positive(distance_to_the_current_probe=current_probe_m)
    return current_probe_m * (math.sqrt(5) - 1) / 2


class Plateau(NamedTuple):
    """mean_ohm: [ohm]; spread_percent: greatest deviation from it [%], None for a mean of zero; flat: accepted."""

    mean_ohm: Decimal
    spread_percent: Decimal | None
    flat: bool


def plateau(readings_ohm: Sequence[Decimal], allowed_percent: Decimal = Decimal(5)) -> Plateau:
    """Whether readings around 62 % of the way agree; if not, the current probe goes further out.

    readings_ohm: at three places of the potential probe or more [ohm]
    allowed_percent: greatest deviation from the mean, over the mean [%]; the bound itself is accepted
    Raises: ValueError for fewer than three readings, or one below zero
    Valid for one current probe and one test. Source: common practice, 5 % unless the rule says else

    >>> plateau([Decimal(41), Decimal(48), Decimal(60)]).flat
    False
    """
    if len(readings_ohm) < 3:
        raise ValueError("A plateau is shown by three places of the potential probe or more.")
    if min(readings_ohm) < 0 or allowed_percent < 0:
        raise ValueError("A resistance and an allowed spread are not below zero.")
    return Plateau(
        mean(readings_ohm), spread_percent(readings_ohm), not exceeds_spread(readings_ohm, allowed_percent)
    )


def slope_coefficient(at_20_ohm: Decimal, at_40_ohm: Decimal, at_60_ohm: Decimal) -> Decimal:
    """µ = (R₆₀ − R₄₀)/(R₄₀ − R₂₀), without a unit.

    at_20_ohm, at_40_ohm, at_60_ohm: read with the potential probe at 20, 40, 60 % of the way [ohm]
    Raises: ValueError where the readings do not rise
    Valid for readings that rise from each place to the next. Source: Tagg 1970, slope method
    """
    first, second = at_40_ohm - at_20_ohm, at_60_ohm - at_40_ohm
    if first <= 0 or second <= 0:
        raise ValueError("The readings must rise from 20 to 40 and from 40 to 60 % of the way.")
    return second / first


class SlopePlace(NamedTuple):
    """ratio: P_T/C, where the potential probe reads the true value; offset: the electrode's electrical centre
    behind the starting point, over C. Neither has a unit."""

    ratio: float
    offset: float


def slope_place(mu: float) -> SlopePlace:
    """Where on the way to the current probe the true value of a large earth is read.

    mu: the slope coefficient, without a unit
    Model: the electrode acts from a centre that lies x behind the starting point, so that
    R(p) ∝ −1/(p + x) + 1/(1 − p), everything over C; x follows from µ, and the true value stands where
    1/(1 − p) = 1/(p + x) + 1/(1 + x), that is p² + (1 + 3x) p + x² − x − 1 = 0.
    Raises: ValueError outside 0.40 to 1.59
    Valid for µ from 0.40 to 1.59; beyond that the current probe is too near.
    Source: G. F. Tagg, Proc. IEE 117 (1970), recomputed; the recalled table agrees within 0.0001

    >>> round(slope_place(1.0).ratio, 4), round(slope_place(1.0).offset, 4)
    (0.5416, 0.2)
    """
    if not LEAST_MU <= mu <= GREATEST_MU:
        raise ValueError(
            f"µ = {mu:g} lies outside 0.40 to 1.59, where the method holds. Move the current probe further out."
        )
    low, high = -0.15, 1.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if _mu_of(middle) < mu else (low, middle)
    x = (low + high) / 2
    b = 1 + 3 * x
    return SlopePlace((-b + math.sqrt(b * b - 4 * (x * x - x - 1))) / 2, x)


def _mu_of(x: float) -> float:
    r20, r40, r60 = (1 / (1 - p) - 1 / (p + x) for p in (0.2, 0.4, 0.6))
    return (r60 - r40) / (r40 - r20)


class ThreePoints(NamedTuple):
    """resistances_ohm: of the three electrodes [ohm]; amplifications: by how much a relative error of the readings
    may be magnified in each, without a unit; ill_conditioned: whether any of these is above 5."""

    resistances_ohm: tuple[Decimal, Decimal, Decimal]
    amplifications: tuple[Decimal, Decimal, Decimal]
    ill_conditioned: bool


def three_points(
    first_second_ohm: Decimal, first_third_ohm: Decimal, second_third_ohm: Decimal
) -> ThreePoints:
    """Three electrodes from their readings in pairs: R₁ = (R₁₂ + R₁₃ − R₂₃)/2 and round [ohm].

    Arguments: between the electrodes named [ohm]
    The amplification (R₁₂ + R₁₃ + R₂₃)/(2 R₁) says how ill-conditioned it is: with 20, 1 % in the readings may
    be 20 % in the result, as happens to a small electrode measured through large ones.
    Raises: ValueError where a result is not above zero: such readings do not belong together
    Valid for three electrodes whose areas do not overlap, of about the same size.
    Source: three-point method (textbook; IEEE Std 81, from memory)
    """
    a, b, c = first_second_ohm, first_third_ohm, second_third_ohm
    found = ((a + b - c) / 2, (a + c - b) / 2, (b + c - a) / 2)
    if min(a, b, c, *found) <= 0:
        raise ValueError(
            "These three readings do not belong together: an electrode would come out at zero or below. Set the"
            " auxiliary electrodes further apart, or choose ones about as large as the one measured."
        )
    first, second, third = ((a + b + c) / (2 * part) for part in found)
    amplifications = (first, second, third)
    return ThreePoints(found, amplifications, max(amplifications) > ILL_CONDITIONED)


def loop_ohm(electrode_ohm: Decimal, others_ohm: Sequence[Decimal]) -> Decimal:
    """What a clamp round one electrode's lead shows: the electrode and, after it, all others side by side [ohm].

    electrode_ohm: of the one [ohm]; others_ohm: of those that close the loop [ohm]
    Raises: ValueError for a value that is not above zero, or no other earth to close the loop
    Valid for other earths outside the electrode's resistance area. A loop is never compared with a fall of
        potential: it is at least the electrode's own value.
    Source: series and parallel resistances

    >>> loop_ohm(Decimal(48), [Decimal(52)])
    Decimal('100')
    """
    if electrode_ohm <= 0:
        raise ValueError("The electrode's resistance must be above zero.")
    if not others_ohm:
        raise ValueError("Without another earth there is no loop to read.")
    return electrode_ohm + parallel_ohm(others_ohm)


def suggests_metal_loop(loop_reading_ohm: Decimal) -> bool:
    """Whether a loop reading is so low that it runs through metal rather than soil: below 1 ohm.

    loop_reading_ohm: as shown by the clamp [ohm]; exactly 1 ohm does not suggest it
    Raises: ValueError for a value below zero
    Valid as a question, not a finding: a very large earth network can be lower.
    Source: common practice, no published source
    """
    if loop_reading_ohm < 0:
        raise ValueError("A resistance is not below zero.")
    return loop_reading_ohm < METAL_LOOP_OHM
