"""How the resistance of a metal moves with its temperature.

R_ref = R_t · (1 + α (t_ref − t₀)) / (1 + α (t − t₀)), with α given at t₀. Copper moves
3.93 % per 10 K from 20 °C.
The law is for metals alone. Soil is never corrected by it.
"""

from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

LOWEST_C = Decimal(-100)
HIGHEST_C = Decimal(300)

SOURCE = "linear law of the resistance of metals; IEC 60228 uses 254.5/(234.5 + t) for copper, the same law"


class Correction(NamedTuple):
    """factor: R_ref / R_t. alpha_per_k: the coefficient at the metal's temperature t [1/K]."""

    factor: Decimal
    alpha_per_k: Decimal


def _require_temperature(temperature_c: Decimal) -> None:
    if not LOWEST_C <= temperature_c <= HIGHEST_C:
        raise ValueError(
            f"{temperature_c} °C is outside {LOWEST_C} to {HIGHEST_C} °C, where the law of metals holds."
        )


def _relative(alpha_per_k: Decimal, alpha_at_c: Decimal, temperature_c: Decimal) -> Decimal:
    """1 + α (t − t₀): the resistance over that at t₀."""
    _require_temperature(temperature_c)
    relative = 1 + alpha_per_k * (temperature_c - alpha_at_c)
    if relative <= 0:
        raise ValueError(f"{alpha_per_k} per K at {alpha_at_c} °C gives no resistance at {temperature_c} °C.")
    return relative


@lru_cache(maxsize=4096)
def correction(
    alpha_per_k: Decimal, alpha_at_c: Decimal, temperature_c: Decimal, reference_c: Decimal
) -> Correction:
    """What turns a resistance at one temperature into that at another.

    alpha_per_k: linear coefficient [1/K], given at alpha_at_c [degC]
    temperature_c: of the metal when it was measured [degC]
    reference_c: the temperature wanted [degC]
    Raises: ValueError outside −100 to 300 °C, or where the law gives no positive resistance
    Valid for solid metals; copper's own curve lies within 0.5 % of the line from 0 to 200 °C.
    Source: linear law; copper against NBS Handbook 100 (1966)

    >>> round(correction(Decimal("0.00393"), Decimal(20), Decimal(35), Decimal(20)).factor, 6)
    Decimal('0.944332')
    """
    measured = _relative(alpha_per_k, alpha_at_c, temperature_c)
    wanted = _relative(alpha_per_k, alpha_at_c, reference_c)
    return Correction(wanted / measured, alpha_per_k / measured)


def correct_resistance_ohm(
    resistance_ohm: Decimal,
    *,
    alpha_per_k: Decimal,
    alpha_at_c: Decimal,
    temperature_c: Decimal,
    reference_c: Decimal,
) -> Decimal:
    """A metal's resistance at reference_c from that at temperature_c [ohm].

    Units, validity and source: as `correction`. Raises: ValueError
    """
    return resistance_ohm * correction(alpha_per_k, alpha_at_c, temperature_c, reference_c).factor


def alpha_at_per_k(alpha_per_k: Decimal, at_c: Decimal, to_c: Decimal) -> Decimal:
    """The same metal's coefficient given at another temperature: α_to = α / (1 + α (to − at)) [1/K].

    alpha_per_k: [1/K] at at_c [degC]
    to_c: where it is wanted [degC]
    Raises: ValueError outside −100 to 300 °C
    Valid for solid metals. Source: exact for the linear law; NBS Handbook 100 (1966)

    >>> alpha_at_per_k(Decimal("0.00393"), Decimal(20), Decimal(0)).quantize(Decimal("0.00001"))
    Decimal('0.00427')
    """
    _require_temperature(at_c)
    return alpha_per_k / _relative(alpha_per_k, at_c, to_c)


def temperature_half_width_ohm(
    corrected_ohm: Decimal, alpha_at_metal_per_k: Decimal, accuracy_k: Decimal
) -> Decimal:
    """What a temperature known to ± accuracy_k does to the corrected value [ohm].

    |dR_ref/dt| = R_ref · α_t, with α_t the coefficient at the metal's temperature.
    corrected_ohm: [ohm]; alpha_at_metal_per_k: [1/K]; accuracy_k: half-width [K]
    Valid for metals and an accuracy over which the line is straight. Source: derivative of the linear law
    """
    return abs(corrected_ohm * alpha_at_metal_per_k * accuracy_k)
