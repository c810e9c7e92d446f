"""Conductors from first principles: resistance from length, section and metal; American wire gauge."""

import re
from decimal import Decimal, localcontext

from inspections.calculations.temperature import correction

TWENTY_C = Decimal(20)
PI = Decimal("3.141592653589793238462643383")

_GAUGE = re.compile(r"([1-4])/0|(0{1,4})|([1-9]|[1-4][0-9]|5[0-6])")


def conductor_ohm(
    resistivity_ohm_m: Decimal,
    length_m: Decimal,
    section_m2: Decimal,
    *,
    alpha_per_k: Decimal | None = None,
    alpha_at_c: Decimal = TWENTY_C,
    temperature_c: Decimal = TWENTY_C,
) -> Decimal:
    """R = ρ L / A, at the metal's temperature [ohm].

    resistivity_ohm_m: at 20 degC [ohm*m]
    length_m: [m]; section_m2: of metal [m²]
    alpha_per_k: linear coefficient [1/K], given at alpha_at_c [degC]; needed only away from 20 degC
    temperature_c: of the metal [degC]
    Raises: ValueError for a length, section or resistivity that is not above zero, a temperature away from
        20 degC without a coefficient, or one outside the linear law
    Valid for direct current. Stranded conductors are about 2 % longer than their cable (lay).
    Source: definition of resistivity; copper 1/58 ohm mm²/m (NBS Handbook 100, 1966)

    >>> conductor_ohm(Decimal("1.724138E-8"), Decimal(1), Decimal("75E-6")).quantize(Decimal("1E-6"))
    Decimal('0.000230')
    """
    if min(resistivity_ohm_m, length_m, section_m2) <= 0:
        raise ValueError("Resistivity, length and section must be above zero.")
    at_twenty = resistivity_ohm_m * length_m / section_m2
    if temperature_c == TWENTY_C:
        return at_twenty
    if alpha_per_k is None:
        raise ValueError("Away from 20 °C the metal's temperature coefficient is needed.")
    return at_twenty * correction(alpha_per_k, alpha_at_c, TWENTY_C, temperature_c).factor


def gauge_number(gauge: str) -> int:
    """The n of the gauge law: `14` is 14, `1/0` is 0, `2/0` or `00` is −1, `4/0` is −3.

    Raises: ValueError for anything else

    >>> gauge_number("2/0")
    -1
    """
    match = _GAUGE.fullmatch(gauge.strip())
    if match is None:
        raise ValueError(
            f"“{gauge}” is not an American wire gauge. Write 4/0 to 1/0 or a whole number from 1 to 56."
        )
    over_zero, zeros, number = match.groups()
    if number:
        return int(number)
    return 1 - (int(over_zero) if over_zero else len(zeros))


def gauge_diameter_m(gauge: str) -> Decimal:
    """Diameter of a solid wire: d = 0.127 mm · 92^((36 − n)/39) [m].

    gauge: `4/0` to `1/0`, or `1` to `56`
    Raises: ValueError
    Source: law of the American wire gauge, as ASTM B258 defines it (from memory)

    >>> gauge_diameter_m("12").quantize(Decimal("1E-7"))
    Decimal('0.0020525')
    """
    with localcontext() as context:
        context.prec = 28
        return Decimal("0.000127") * Decimal(92) ** ((36 - Decimal(gauge_number(gauge))) / 39)


def gauge_section_m2(gauge: str) -> Decimal:
    """Section of a solid wire of that gauge: π d² / 4 [m²]. Units, errors, source: as `gauge_diameter_m`."""
    return PI / 4 * gauge_diameter_m(gauge) ** 2
