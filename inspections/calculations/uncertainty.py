"""Standard uncertainties after the GUM, and the factor that expands them."""

import math
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from inspections.calculations.spread import mean

GUM = "JCGM 100:2008 (GUM)"

SQRT_3 = Decimal("1.732050807568877293527446342")
SQRT_6 = Decimal("2.449489742783178098197284075")
SQRT_12 = Decimal("3.464101615137754587054892683")
TWO = Decimal(2)
NORMAL_975 = 1.959963984540054
MANY_DEGREES = 1e6


OPERATING_PERCENT = Decimal(30)
COMBINE_SOURCE = "JCGM 100:2008 (GUM): root sum of squares, Welch-Satterthwaite"
COMBINE_VALIDITY = (
    "Independent components in one unit, as they act on the result; not below zero; degrees of freedom above zero"
    " where a scatter was evaluated, null where not."
)


class Combined(NamedTuple):
    """standard: u_c. degrees: ν_eff, None where nothing scattered. factor: k. expanded: k · u_c."""

    standard: Decimal
    degrees: Decimal | None
    factor: Decimal
    expanded: Decimal


def rectangular(half_width: Decimal) -> Decimal:
    """Standard uncertainty of a value known only to lie within ± half_width: a/√3, in its unit.

    Valid for bounds on both sides alike, any value between as likely.
    Source: JCGM 100:2008 (GUM), rectangular distribution
    """
    return half_width / SQRT_3


def resolution(step: Decimal) -> Decimal:
    """Standard uncertainty of a display that moves in steps: step/√12, in its unit.

    Valid for a display that rounds to its nearest step. Source: JCGM 100:2008 (GUM), rectangular over one step
    """
    return step / SQRT_12


def triangular(half_width: Decimal) -> Decimal:
    """Standard uncertainty of a value within ± half_width, likeliest in the middle: a/√6, in its unit.

    Raises: ValueError for a half-width below zero
    Valid for bounds on both sides alike. Source: JCGM 100:2008 (GUM), triangular distribution
    """
    if half_width < 0:
        raise ValueError("A half-width is not below zero.")
    return half_width / SQRT_6


def from_expanded(expanded: Decimal, factor: Decimal) -> Decimal:
    """Standard uncertainty from a certificate's expanded one: U/k, in its unit.

    expanded: U, in the unit of the value; factor: k, without a unit
    Raises: ValueError for U below zero or k not above zero
    Valid for the k the certificate states. Source: JCGM 100:2008 (GUM), Type B from a certificate
    """
    if expanded < 0 or factor <= 0:
        raise ValueError("The expanded uncertainty is not below zero, and its factor is above zero.")
    return expanded / factor


def operating_standard_ohm(reading_ohm: Decimal, percent: Decimal = OPERATING_PERCENT) -> Decimal:
    """Standard uncertainty of an instrument of which only its operating uncertainty class is known [ohm].

    reading_ohm: as displayed [ohm]; percent: the greatest operating uncertainty [%], 30 unless the maker says less
    The bound enters as a rectangular half-width of 30 % of the reading, never as an expanded one with k = 2.
    Raises: ValueError for a percentage below zero
    Valid inside the range that the maker marks for it. Source: IEC 61557 (from memory); JCGM 100:2008 (GUM)

    >>> round(operating_standard_ohm(Decimal(10)), 6)
    Decimal('1.732051')
    """
    if percent < 0:
        raise ValueError("An operating uncertainty is not below zero.")
    return rectangular(abs(reading_ohm) * percent / 100)


def standard_deviation_of_mean(values: Sequence[Decimal]) -> Decimal:
    """Type A: √(Σ(x − x̄)² / (n (n − 1))), in the unit of the values.

    Raises: ValueError for fewer than two values
    Valid for independent repeats. Source: JCGM 100:2008 (GUM), Type A evaluation
    """
    n = len(values)
    if n < 2:
        raise ValueError("A scatter needs at least two values.")
    middle = mean(values)
    return (sum(((value - middle) ** 2 for value in values), Decimal(0)) / (n * (n - 1))).sqrt()


def root_sum_square(components: Sequence[Decimal]) -> Decimal:
    """√Σu²: components in one unit. Valid for uncorrelated components. Source: JCGM 100:2008 (GUM)"""
    return sum((part * part for part in components), Decimal(0)).sqrt()


def effective_degrees(
    combined: Decimal, components: Sequence[tuple[Decimal, Decimal | None]]
) -> Decimal | None:
    """Welch-Satterthwaite: ν_eff = u_c⁴ / Σ(uᵢ⁴/νᵢ); None where no component has finite degrees of freedom.

    components: (standard uncertainty, degrees of freedom or None), one unit
    Raises: ValueError for degrees of freedom that are not above zero
    Valid for independent components, nearly normal together. Source: JCGM 100:2008 (GUM), Welch-Satterthwaite formula
    """
    if any(degrees is not None and degrees <= 0 for _, degrees in components):
        raise ValueError("Degrees of freedom must be above zero.")
    share = sum((part**4 / degrees for part, degrees in components if degrees is not None), Decimal(0))
    return None if share == 0 else combined**4 / share


def combine(components: Sequence[tuple[Decimal, Decimal | None]]) -> Combined:
    """Combined and expanded uncertainty, about 95 %: k = 2, or t₀.₉₅(ν_eff) where a scatter was evaluated.

    components: (standard uncertainty, degrees of freedom or None for Type B), one unit
    Raises: ValueError for none at all, a negative uncertainty, or degrees of freedom not above zero
    Valid for independent components, nearly normal together. Source: JCGM 100:2008 (GUM)

    >>> combine([(Decimal(3), None), (Decimal(4), None)]).expanded
    Decimal('10')
    """
    if not components or any(part < 0 for part, _ in components):
        raise ValueError("Write at least one standard uncertainty, none of them below zero.")
    standard = root_sum_square([part for part, _ in components])
    degrees = effective_degrees(standard, components)
    factor = TWO if degrees is None else student_t_95(degrees)
    return Combined(standard, degrees, factor, factor * standard)


def correlation(first: Sequence[Decimal], second: Sequence[Decimal]) -> Decimal:
    """Correlation of the means of two quantities observed together, without a unit: from −1 to 1.

    first, second: pair by pair, each in a unit of its own
    Raises: ValueError for unequal lengths, fewer than two pairs, or a quantity that did not vary
    Valid for pairs observed at the same time. Source: JCGM 100:2008 (GUM), covariance of means; its example H.2
    """
    if len(first) != len(second) or len(first) < 2:
        raise ValueError("A correlation needs at least two pairs, both quantities observed each time.")
    m, n = mean(first), mean(second)
    together = sum(((x - m) * (y - n) for x, y in zip(first, second, strict=True)), Decimal(0))
    squares = sum(((x - m) ** 2 for x in first), Decimal(0)) * sum(((y - n) ** 2 for y in second), Decimal(0))
    if squares == 0:
        raise ValueError("A quantity that did not vary has no correlation.")
    return together / squares.sqrt()


Correlations = Sequence[Sequence[Decimal]]


def covariance(first: Sequence[Decimal], second: Sequence[Decimal], correlations: Correlations) -> Decimal:
    """Covariance of two results of the same inputs: ΣΣ aᵢ rᵢⱼ bⱼ, in the product of the results' units.

    first, second: contributions of each input to either result, cᵢ · u(xᵢ) with their signs, in the result's unit
    correlations: rᵢⱼ of the inputs, without a unit, a symmetric table with ones from corner to corner
    Raises: ValueError for a table of another size or shape, or a coefficient outside −1 to 1
    Valid for results that are nearly linear over the inputs' uncertainties.
    Source: JCGM 100:2008 (GUM), law of propagation for correlated inputs; its example H.2
    """
    n = len(first)
    if n == 0 or len(second) != n or len(correlations) != n or any(len(row) != n for row in correlations):
        raise ValueError("The table of correlations needs one row and one column for each input.")
    for i in range(n):
        for j in range(n):
            r = correlations[i][j]
            if r != correlations[j][i] or abs(r) > 1 or (i == j and r != 1):
                raise ValueError(
                    "Correlations lie between −1 and 1, are the same both ways, and 1 of a quantity with itself."
                )
    return sum((first[i] * correlations[i][j] * second[j] for i in range(n) for j in range(n)), Decimal(0))


def combine_correlated(contributions: Sequence[Decimal], correlations: Correlations) -> Decimal:
    """Combined standard uncertainty of correlated inputs: √(ΣΣ aᵢ rᵢⱼ aⱼ), in the result's unit.

    contributions: cᵢ · u(xᵢ) with their signs, in the result's unit; correlations: as `covariance`
    Raises: ValueError as `covariance`, and for coefficients that no quantities can have together
    Valid for a result that is nearly linear over the inputs' uncertainties.
    Source: JCGM 100:2008 (GUM), law of propagation for correlated inputs; its example H.2

    >>> tenth = [Decimal("0.1")] * 10
    >>> combine_correlated(tenth, [[Decimal(1)] * 10] * 10)
    Decimal('1.0')
    """
    variance = covariance(contributions, contributions, correlations)
    if variance < 0:
        raise ValueError("These correlations cannot hold together: the variance comes out below zero.")
    return variance.sqrt()


def student_t_95(degrees: Decimal) -> Decimal:
    """The t that holds 95 % between −t and t, for any (also fractional) degrees of freedom.

    degrees: above zero, not truncated to a whole number
    Returns: to 10 significant digits, without a unit
    Valid for any degrees of freedom above zero.
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
