"""How probable it is that a thing conforms, given what was measured, after JCGM 106.

Binary floats: a probability stands beside the verdict and decides nothing.
"""

import math
from collections.abc import Callable
from typing import NamedTuple

CONFORMITY_SOURCE = "JCGM 106:2012, probability of conformity for a normal distribution"
CONFORMITY_VALIDITY = (
    "A value with a normal distribution about the measured one: its standard uncertainty is above zero, nothing"
    " else was known of it beforehand, and at least one limit is given, the lower below the upper."
)
FAR = 9.0
PANELS = 40

# Gauss-Legendre on (−1, 1), eight points: (place, weight) of one side.
_GAUSS = (
    (0.183434642495650, 0.362683783378362),
    (0.525532409916329, 0.313706645877887),
    (0.796666477413627, 0.222381034453374),
    (0.960289856497536, 0.101228536290376),
)


def normal_below(z: float) -> float:
    """Φ(z): the share of the standard normal distribution below z. z and the share have no unit.

    Valid for every z. Source: definition; through the complementary error function, so that tails keep digits
    """
    return 0.5 * math.erfc(-z / math.sqrt(2))


def conformity_probability(
    value: float, standard_uncertainty: float, *, lower: float | None = None, upper: float | None = None
) -> float:
    """P(lower ≤ true value ≤ upper) = Φ((T_U − y)/u) − Φ((T_L − y)/u), without a unit.

    value, standard_uncertainty, lower, upper: in one unit, whichever it is; a limit of None is none
    Raises: ValueError outside validity
    Valid for a normal distribution about the measured value, standard uncertainty above zero, at least one limit.
    Source: JCGM 106:2012, one- and two-sided tolerance intervals

    >>> round(conformity_probability(-5.47, 0.05, upper=-5.40), 4)
    0.9192
    """
    _require_tolerance(lower, upper)
    if not (standard_uncertainty > 0 and math.isfinite(value)):
        raise ValueError("The standard uncertainty must be above zero.")
    if lower is None:
        assert upper is not None  # noqa: S101 - checked above
        return normal_below((upper - value) / standard_uncertainty)
    if upper is None:
        return normal_below((value - lower) / standard_uncertainty)
    return _between((lower - value) / standard_uncertainty, (upper - value) / standard_uncertainty)


def _require_tolerance(lower: float | None, upper: float | None) -> None:
    if lower is None and upper is None:
        raise ValueError("Give an upper limit, a lower limit, or both.")
    if lower is not None and upper is not None and lower >= upper:
        raise ValueError("The lower limit must lie below the upper one.")


def _between(low: float, high: float) -> float:
    """Φ(high) − Φ(low), taken on the side of zero where both are small."""
    if low > 0:
        return normal_below(-low) - normal_below(-high)
    return normal_below(high) - normal_below(low)


class GlobalRisks(NamedTuple):
    """consumer: a thing that does not conform is accepted; producer: one that does is rejected. Probabilities."""

    consumer: float
    producer: float


def global_risks(
    mean: float,
    standard_deviation: float,
    standard_uncertainty: float,
    lower: float,
    upper: float,
    guard_band: float = 0.0,
) -> GlobalRisks:
    """What a decision rule costs over a whole production: R_C and R_P of JCGM 106, without a unit.

    mean, standard_deviation: of the things made; standard_uncertainty: of the measurement; lower, upper: limits;
    guard_band: w, accepted within lower + w and upper − w. All in one unit, whichever it is.
    Raises: ValueError outside validity
    Valid for normal distributions, both widths above zero, lower below upper, and an acceptance interval left.
    Source: JCGM 106:2012, global risks, by Gauss-Legendre over ± 9 standard deviations, to 1e-9
    """
    _require_tolerance(lower, upper)
    if not (standard_deviation > 0 and standard_uncertainty > 0):
        raise ValueError("The standard deviation and the standard uncertainty must be above zero.")
    from_, to = lower + guard_band, upper - guard_band
    if from_ >= to:
        raise ValueError("The guard band leaves nothing that could be accepted.")

    def accepted(true: float) -> float:
        return _between((from_ - true) / standard_uncertainty, (to - true) / standard_uncertainty)

    def made(true: float) -> float:
        z = (true - mean) / standard_deviation
        return math.exp(-z * z / 2) / (standard_deviation * math.sqrt(2 * math.pi))

    low, high = mean - FAR * standard_deviation, mean + FAR * standard_deviation
    inner = min(max(lower, low), high), min(max(upper, low), high)
    outside = _integral(lambda x: made(x) * accepted(x), low, inner[0]) + _integral(
        lambda x: made(x) * accepted(x), inner[1], high
    )
    return GlobalRisks(outside, _integral(lambda x: made(x) * (1 - accepted(x)), *inner))


def _integral(function: Callable[[float], float], low: float, high: float) -> float:
    width = (high - low) / PANELS
    total = 0.0
    for panel in range(PANELS):
        middle = low + (panel + 0.5) * width
        for place, weight in _GAUSS:
            total += weight * (function(middle - place * width / 2) + function(middle + place * width / 2))
    return total * width / 2
