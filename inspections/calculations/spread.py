"""Whether several displays of one thing agree."""

from collections.abc import Sequence
from decimal import Decimal


def mean(values: Sequence[Decimal]) -> Decimal:
    """Arithmetic mean, in the unit of the values. Raises: ValueError for none at all

    Valid for one value or more. Source: JCGM 100:2008 (GUM), arithmetic mean of observations
    """
    if not values:
        raise ValueError("There is nothing to take a mean of.")
    return sum(values, Decimal(0)) / len(values)


def spread_percent(values: Sequence[Decimal]) -> Decimal | None:
    """Greatest deviation from the mean, over the mean [%]; None for a mean of zero over other values.

    values: in one unit. Raises: ValueError for none at all
    Valid for one value or more whose mean is not zero.
    Source: definition used throughout this product (common practice)

    >>> spread_percent([Decimal("57.5"), Decimal("58.0"), Decimal("59.0")]).quantize(Decimal("0.1"))
    Decimal('1.4')
    """
    total, greatest = _total_and_deviation(values)
    if total == 0:
        return Decimal(0) if greatest == 0 else None
    return greatest / abs(total) * 100


def exceeds_spread(values: Sequence[Decimal], allowed_percent: Decimal) -> bool:
    """Whether the spread is above allowed_percent [%]; the allowed spread itself is not.

    Exact: compares n·xᵢ − Σx with Σx, so that no rounded mean stands between.
    Validity and source: as `spread_percent`
    """
    total, greatest = _total_and_deviation(values)
    return greatest * 100 > allowed_percent * abs(total)


def _total_and_deviation(values: Sequence[Decimal]) -> tuple[Decimal, Decimal]:
    """n times the mean and n times the greatest deviation from it, both exact."""
    if not values:
        raise ValueError("There is nothing to compare.")
    total = sum(values, Decimal(0))
    return total, max(abs(value * len(values) - total) for value in values)
