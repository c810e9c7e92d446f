"""Standard uncertainties after the GUM, and the factor that expands them."""

import math
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from inspections.calculations.spread import mean

GUM = "JCGM 100:2008 (GUM)"

SQRT_3 = Decimal("1.732050807568877293527446342")
SQRT_12 = Decimal("3.464101615137754587054892683")
TWO = Decimal(2)
NORMAL_975 = 1.959963984540054
MANY_DEGREES = 1e6


class Combined(NamedTuple):
    """standard: u_c. degrees: ν_eff, None where nothing scattered. factor: k. expanded: k · u_c."""

    standard: Decimal
    degrees: Decimal | None
    factor: Decimal
    expanded: Decimal


def rectangular(half_width: Decimal) -> Decimal:
    """Standard uncertainty of a value known only to lie within ± half_width: a/√3, in its unit.

    Source: JCGM 100:2008 (GUM), rectangular distribution
    """
    return half_width / SQRT_3


def resolution(step: Decimal) -> Decimal:
    """Standard uncertainty of a display that moves in steps: step/√12, in its unit.

    Source: JCGM 100:2008 (GUM), rectangular over one step
    """
    return step / SQRT_12


def standard_deviation_of_mean(values: Sequence[Decimal]) -> Decimal:
    """Type A: √(Σ(x − x̄)² / (n (n − 1))), in the unit of the values.

    Raises: ValueError for fewer than two values
    Source: JCGM 100:2008 (GUM), Type A evaluation
    """
    n = len(values)
    if n < 2:
        raise ValueError("A scatter needs at least two values.")
    middle = mean(values)
    return (sum(((value - middle) ** 2 for value in values), Decimal(0)) / (n * (n - 1))).sqrt()


def root_sum_square(components: Sequence[Decimal]) -> Decimal:
    """√Σu²: uncorrelated components in one unit. Source: JCGM 100:2008 (GUM)"""
    return sum((part * part for part in components), Decimal(0)).sqrt()


def effective_degrees(
    combined: Decimal, components: Sequence[tuple[Decimal, Decimal | None]]
) -> Decimal | None:
    """Welch-Satterthwaite: ν_eff = u_c⁴ / Σ(uᵢ⁴/νᵢ); None where no component has finite degrees of freedom.

    components: (standard uncertainty, degrees of freedom or None), one unit
    Raises: ValueError for degrees of freedom that are not above zero
    Source: JCGM 100:2008 (GUM), Welch-Satterthwaite formula
    """
    if any(degrees is not None and degrees <= 0 for _, degrees in components):
        raise ValueError("Degrees of freedom must be above zero.")
    share = sum((part**4 / degrees for part, degrees in components if degrees is not None), Decimal(0))
    return None if share == 0 else combined**4 / share


def combine(components: Sequence[tuple[Decimal, Decimal | None]]) -> Combined:
    """Combined and expanded uncertainty, about 95 %: k = 2, or t₀.₉₅(ν_eff) where a scatter was evaluated.

    components: (standard uncertainty, degrees of freedom or None for Type B), one unit
    Raises: ValueError for none at all, a negative uncertainty, or degrees of freedom not above zero
    Source: JCGM 100:2008 (GUM)

    >>> combine([(Decimal(3), None), (Decimal(4), None)]).expanded
    Decimal('10')
    """
    if not components or any(part < 0 for part, _ in components):
        raise ValueError("Write at least one standard uncertainty, none of them below zero.")
    standard = root_sum_square([part for part, _ in components])
    degrees = effective_degrees(standard, components)
    factor = TWO if degrees is None else student_t_95(degrees)
    return Combined(standard, degrees, factor, factor * standard)


def student_t_95(degrees: Decimal) -> Decimal:
    """The t that holds 95 % between −t and t, for any (also fractional) degrees of freedom.

    degrees: above zero, not truncated to a whole number
    Returns: to 10 significant digits
    Raises: ValueError for degrees of freedom that are not above zero
    Source: Student's distribution through the incomplete beta function; checked against scipy in the tests

    >>> student_t_95(Decimal(3))
    Decimal('3.182446305')
    """
    if degrees <= 0:
        raise ValueError("Degrees of freedom must be above zero.")
    many = degrees > MANY_DEGREES
    found = _student_t_expansion(float(degrees)) if many else _student_t(0.05, float(degrees))
    return Decimal(f"{found:.10g}")


@lru_cache(maxsize=4096)
def _student_t(tail: float, degrees: float) -> float:
    """Quantile by Newton's steps on the two-sided tail, in binary floats.

    The tail is convex, so that a step from below never passes the root, and the root is never below the normal's.
    """
    t = _student_t_expansion(degrees)
    for _ in range(200):
        excess = _two_sided_tail(t, degrees) - tail
        new = max(NORMAL_975, t + excess / (2 * _student_density(t, degrees)))
        if abs(new - t) <= 1e-11 * t:
            return new
        t = new
    return t


def _student_t_expansion(degrees: float) -> float:
    """The 0.975 quantile for many degrees of freedom, in falling powers; checked against scipy in the tests."""
    z, n = NORMAL_975, max(degrees, 1.0)
    first = (z**3 + z) / 4
    second = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    third = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    return z + first / n + second / n**2 + third / n**3


def _student_density(t: float, degrees: float) -> float:
    log = math.lgamma((degrees + 1) / 2) - math.lgamma(degrees / 2) - 0.5 * math.log(degrees * math.pi)
    return math.exp(log - (degrees + 1) / 2 * math.log1p(t * t / degrees))


def _two_sided_tail(t: float, degrees: float) -> float:
    """P(|T| > t) = I_x(ν/2, 1/2) with x = ν/(ν + t²)."""
    x = degrees / (degrees + t * t)
    return _incomplete_beta(degrees / 2, 0.5, x, (t * t) / (degrees + t * t))


def _incomplete_beta(a: float, b: float, x: float, y: float) -> float:
    """Regularised incomplete beta I_x(a, b), y = 1 − x given apart to keep its digits."""
    if x <= 0 or y <= 0:
        return 0.0 if x <= 0 else 1.0
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log(y)
    front = math.exp(log_front)
    if x < (a + 1) / (a + b + 2):
        return front * _beta_fraction(a, b, x) / a
    return 1 - front * _beta_fraction(b, a, y) / b


def _beta_fraction(a: float, b: float, x: float) -> float:
    """Continued fraction of the incomplete beta by Lentz's method; checked against scipy in the tests."""
    tiny = 1e-300
    c, d = 1.0, 1 - (a + b) * x / (a + 1)
    d = 1 / (d if abs(d) > tiny else tiny)
    fraction = d
    for m in range(1, 1000):
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1 + numerator * d
            d = 1 / (d if abs(d) > tiny else tiny)
            c = 1 + numerator / c
            c = c if abs(c) > tiny else tiny
            fraction *= d * c
        if abs(d * c - 1) < 1e-16:
            break
    return fraction
