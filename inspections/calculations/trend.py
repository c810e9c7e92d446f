"""Drift without assuming a distribution: Theil-Sen's slope, Mann-Kendall's test.

Slopes, medians and signs are exact Decimals, so that a tie is a tie; probabilities are binary floats.
"""

import math
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

from inspections.calculations.conformity import normal_below
from inspections.calculations.uncertainty import NORMAL_975

DRIFT_SOURCE = (
    "Theil-Sen slope with Sen's interval; Mann-Kendall test, exact without ties up to 10 values, else normal with"
    " ties and continuity (Hollander, Wolfe and Chicken, Nonparametric Statistical Methods)"
)
DRIFT_VALIDITY = (
    "At least three values at no fewer than two different times, at most 2000; values of one method, not bound to"
    " each other, on one straight drift: split at repairs and steps."
)
FEWEST = 3
MOST = 2000
EXACT_UP_TO = 10


class Drift(NamedTuple):
    """slope, lower, upper: per unit of time, in the unit of the values; coverage: what the interval truly holds
    (0.95, less where too few values allow it); intercept: in the unit of the values; kendall_s: a count;
    p_two_sided: a probability."""

    slope: Decimal
    lower: Decimal
    upper: Decimal
    coverage: float
    intercept: Decimal
    kendall_s: int
    p_two_sided: float


def median(values: Sequence[Decimal]) -> Decimal:
    """The middle value, or the mean of the two middle ones, in the unit of the values.

    Raises: ValueError for none at all. Valid for one or more values. Source: definition
    """
    if not values:
        raise ValueError("There is nothing to take a median of.")
    ordered, half = sorted(values), len(values) // 2
    if len(ordered) % 2:
        return ordered[half]
    return (ordered[half - 1] + ordered[half]) / 2


def drift(times: Sequence[Decimal], values: Sequence[Decimal]) -> Drift:
    """Slope, 95 % interval, intercept and significance of a drift.

    times: in one unit; values: in one unit, in the order of the times. The slope is in values' unit per times' unit.
    Raises: ValueError outside validity
    Valid for three values or more at two different times or more, at most 2000 of them, on one straight drift.
    Intercept: median of y − slope · x. With three or four values no interval holds 95 %; the widest there is
    stands, with its own coverage.
    Source: Theil 1950, Sen 1968 (interval); Mann 1945, Kendall; as in Hollander, Wolfe and Chicken (2014)

    >>> found = drift([Decimal(n) for n in range(1, 6)], [Decimal(y) for y in ("1.26", "1.27", "1.12", "1.16", "1.03")])
    >>> found.slope, found.kendall_s, round(found.p_two_sided, 4)
    (Decimal('-0.05625'), -6, 0.2333)
    """
    _require_series(times, values)
    slopes = pairwise_slopes(times, values)
    slope = median(slopes)
    lower, upper, coverage = _interval(slopes, times, values)
    s = kendall_s(times, values)
    return Drift(
        slope, lower, upper, coverage,
        median([y - slope * x for x, y in zip(times, values, strict=True)]),
        s, kendall_p_two_sided(s, times, values),
    )  # fmt: skip


def _require_series(times: Sequence[Decimal], values: Sequence[Decimal]) -> None:
    if len(times) != len(values):
        raise ValueError(
            f"There are {len(times)} times and {len(values)} values: give one value for each time."
        )
    if not FEWEST <= len(times) <= MOST:
        raise ValueError(f"A drift needs {FEWEST} to {MOST} values; there are {len(times)}.")
    if len(set(times)) < 2:
        raise ValueError("All values are of one time: no drift can be told.")


def pairwise_slopes(times: Sequence[Decimal], values: Sequence[Decimal]) -> list[Decimal]:
    """(y_j − y_i)/(x_j − x_i) of every two values of different times, ascending; values' unit per times' unit.

    Valid for any values; two of one time give no slope. Source: Theil 1950
    """
    series = sorted(zip(times, values, strict=True))
    return sorted((y2 - y1) / (x2 - x1) for (x1, y1), (x2, y2) in combinations(series, 2) if x1 != x2)


def kendall_s(times: Sequence[Decimal], values: Sequence[Decimal]) -> int:
    """S: pairs that rise less pairs that fall, a count without a unit.

    Valid for any values; a tie of times or of values counts nothing. Source: Mann 1945, Kendall
    """
    series = sorted(zip(times, values, strict=True))
    return sum((y2 > y1) - (y2 < y1) for (x1, y1), (x2, y2) in combinations(series, 2) if x1 != x2)


def kendall_p_two_sided(s: int, times: Sequence[Decimal], values: Sequence[Decimal]) -> float:
    """How often chance alone gives an S as far from zero: a probability, without a unit.

    s: as `kendall_s` counts it of the same times and values
    Valid: exact without ties up to 10 values; else the normal approximation with the variance corrected for
        ties of times and values, and a continuity of one.
    Source: Kendall, Rank Correlation Methods; Hollander, Wolfe and Chicken (2014)
    """
    n = len(values)
    if is_exact(times, values):
        return exact_p_two_sided(n, s)
    variance = kendall_variance(times, values)
    if variance == 0 or s == 0:
        return 1.0
    return min(1.0, 2 * normal_below(-(abs(s) - 1) / math.sqrt(variance)))


def is_exact(times: Sequence[Decimal], values: Sequence[Decimal]) -> bool:
    """Whether `kendall_p_two_sided` is exact for them, a yes or no without a unit.

    Valid: as `kendall_p_two_sided`
    Source: as `kendall_p_two_sided`
    """
    return len(values) <= EXACT_UP_TO and not _has_ties(times) and not _has_ties(values)


def _has_ties(numbers: Sequence[Decimal]) -> bool:
    return len(set(numbers)) < len(numbers)


def _ties(numbers: Sequence[Decimal]) -> list[int]:
    return [size for size in Counter(numbers).values() if size > 1]


def kendall_variance(times: Sequence[Decimal], values: Sequence[Decimal]) -> float:
    """Variance of S where nothing drifts, a count squared: n(n − 1)(2n + 5)/18, less what ties take from it.

    Valid for three values or more; with ties among both times and values by Kendall's full form.
    Source: Kendall, Rank Correlation Methods; for distinct times n(n−1)(2n+5) − Σ t(t−1)(2t+5), over 18
    """
    n = len(values)

    def sums(numbers: Sequence[Decimal]) -> tuple[int, int, int]:
        sizes = _ties(numbers)
        return (
            sum(t * (t - 1) * (2 * t + 5) for t in sizes),
            sum(t * (t - 1) for t in sizes),
            sum(t * (t - 1) * (t - 2) for t in sizes),
        )

    (x5, x1, x2), (y5, y1, y2) = sums(times), sums(values)
    return (
        (n * (n - 1) * (2 * n + 5) - x5 - y5) / 18
        + x1 * y1 / (2 * n * (n - 1))
        + x2 * y2 / (9 * n * (n - 1) * (n - 2))
    )


@lru_cache(maxsize=16)
def orders_by_inversions(n: int) -> tuple[int, ...]:
    """How many of the n! orders have 0, 1, 2, ... pairs the wrong way round: counts, without a unit.

    Raises: ValueError outside 1 to 10. Valid for 1 to 10 values. Source: Kendall's recursion

    >>> orders_by_inversions(4)
    (1, 3, 5, 6, 5, 3, 1)
    """
    if not 1 <= n <= EXACT_UP_TO:
        raise ValueError(f"The exact distribution is kept for 1 to {EXACT_UP_TO} values.")
    counts = [1]
    for size in range(2, n + 1):
        wider = [0] * (len(counts) + size - 1)
        for place, count in enumerate(counts):
            for shift in range(size):
                wider[place + shift] += count
        counts = wider
    return tuple(counts)


def exact_p_two_sided(n: int, s: int) -> float:
    """P(|S| ≥ |s|) over all n! orders of n values without ties: a probability, without a unit.

    n: how many values; s: Kendall's S of them
    Raises: ValueError outside 1 to 10. Valid for 1 to 10 values without ties.
    Source: Kendall's recursion; the table in Hollander, Wolfe and Chicken (2014)

    >>> round(exact_p_two_sided(5, -6), 4)
    0.2333
    """
    counts = orders_by_inversions(n)
    pairs = len(counts) - 1
    far = sum(count for wrong, count in enumerate(counts) if abs(pairs - 2 * wrong) >= abs(s))
    return far / math.factorial(n)


def _interval(
    slopes: list[Decimal], times: Sequence[Decimal], values: Sequence[Decimal]
) -> tuple[Decimal, Decimal, float]:
    """Sen's ranks from the variance of S. For 5 to 10 values without ties they are the exact ones.

    With three or four values Sen's ranks lie outside the slopes there are: all of them together hold less.
    """
    n, pairs = len(values), len(slopes)
    reach = NORMAL_975 * math.sqrt(kendall_variance(times, values))
    low, high = round((pairs - reach) / 2) - 1, round((pairs + reach) / 2)
    if low >= 0 and high < pairs:
        return slopes[low], slopes[high], 0.95
    widest = 1.0 if n > EXACT_UP_TO else 1 - exact_p_two_sided(n, n * (n - 1) // 2)
    return slopes[max(low, 0)], slopes[min(high, pairs - 1)], min(0.95, widest)
