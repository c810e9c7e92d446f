"""Conductors from first principles: resistance from length, section and metal; American wire gauge."""

import re
from collections.abc import Sequence
from decimal import Decimal, localcontext
from typing import NamedTuple

from inspections.calculations.temperature import correction

TWENTY_C = Decimal(20)
PI = Decimal("3.141592653589793238462643383")
FLOOR = Decimal("0.8")
CEILING = Decimal(2)

CONDUCTOR_SOURCE = (
    "R = ρ L / A; solid wire by its gauge: d = 0.127 mm × 92^((36 − n)/39), ASTM B258 (from memory)"
)
CONDUCTOR_VALIDITY = (
    "Direct current, one metal, the same section all along; a strand's lay adds about 2 %. Metal from −100 to"
    " 300 °C; away from 20 °C its coefficient must be known."
)

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


class SeriesPart(NamedTuple):
    """One conductor of a path: resistivity at 20 degC [ohm*m], length [m], section [m²], and the metal's coefficient
    [1/K] given at alpha_at_c [degC]; None where it is not known."""

    resistivity_ohm_m: Decimal
    length_m: Decimal
    section_m2: Decimal
    alpha_per_k: Decimal | None = None
    alpha_at_c: Decimal = TWENTY_C


def series_ohm(parts: Sequence[SeriesPart], temperature_c: Decimal = TWENTY_C) -> Decimal:
    """Conductors one after another, all at one temperature, each by its own metal's coefficient [ohm].

    parts: resistivities [ohm*m], lengths [m], sections [m²], coefficients [1/K]; temperature_c: of all of them [degC]
    Raises: ValueError for no part, or a part that `conductor_ohm` refuses
    Valid for direct current; the joints between the parts are not in it. Source: as `conductor_ohm`
    """
    if not parts:
        raise ValueError("A path has at least one part.")
    return sum((_part_ohm(part, temperature_c) for part in parts), Decimal(0))


def _part_ohm(part: SeriesPart, temperature_c: Decimal) -> Decimal:
    return conductor_ohm(
        part.resistivity_ohm_m,
        part.length_m,
        part.section_m2,
        alpha_per_k=part.alpha_per_k,
        alpha_at_c=part.alpha_at_c,
        temperature_c=temperature_c,
    )


def series_factor(parts: Sequence[SeriesPart], temperature_c: Decimal, reference_c: Decimal) -> Decimal:
    """What corrects the reading of a path of several metals: its R at reference_c over that at temperature_c.

    temperature_c: of the metal when read [degC]; reference_c: wanted [degC]; the factor has no unit
    Raises: ValueError as `series_ohm`
    Valid while the parts make up the whole of what was read. Source: as `conductor_ohm`
    """
    return series_ohm(parts, reference_c) / series_ohm(parts, temperature_c)


class Plausible(NamedTuple):
    """Between which values a reading of a conductor alone is not asked about [ohm]."""

    floor_ohm: Decimal
    ceiling_ohm: Decimal


def floor_and_ceiling_ohm(alone_ohm: Decimal) -> Plausible:
    """0.8 and 2 times what the conductor alone comes to [ohm]: below, a parallel path; above, a joint between.

    alone_ohm: ρ L / A at the metal's temperature [ohm]
    Raises: ValueError for a value that is not above zero
    Valid as a question, not a finding. Source: common practice, no published source

    >>> floor_and_ceiling_ohm(Decimal("0.0138")).floor_ohm
    Decimal('0.01104')
    """
    if alone_ohm <= 0:
        raise ValueError("The resistance of the conductor alone must be above zero.")
    return Plausible(FLOOR * alone_ohm, CEILING * alone_ohm)


def section_shortfall_m2(section_m2: Decimal, least_m2: Decimal) -> Decimal:
    """By how much a section falls short of the least one asked for [m²]; zero where it is enough.

    section_m2: of the conductor [m²]; least_m2: asked for [m²]; exactly the least is enough
    Raises: ValueError for a section or a least one that is not above zero
    Valid for the nominal section; the least ones are data with their own source. Source: comparison of the two

    >>> section_shortfall_m2(Decimal("0.000035"), Decimal("0.000050"))
    Decimal('0.000015')
    """
    if min(section_m2, least_m2) <= 0:
        raise ValueError("A section must be above zero.")
    return max(Decimal(0), least_m2 - section_m2)


def gauge_number(gauge: str) -> int:
    """The n of the gauge law, without a unit: `14` is 14, `1/0` is 0, `2/0` or `00` is −1, `4/0` is −3.

    Raises: ValueError for anything else
    Valid for 4/0 to 1/0 and 1 to 56. Source: as `gauge_diameter_m`

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
    Valid for solid wire from 4/0 to 56.
    Source: law of the American wire gauge, as ASTM B258 defines it (from memory)

    >>> gauge_diameter_m("12").quantize(Decimal("1E-7"))
    Decimal('0.0020525')
    """
    with localcontext() as context:
        context.prec = 28
        return Decimal("0.000127") * Decimal(92) ** ((36 - Decimal(gauge_number(gauge))) / 39)


def gauge_section_m2(gauge: str) -> Decimal:
    """Section of a solid wire of that gauge: π d² / 4 [m²]. Units, errors, validity, source: as `gauge_diameter_m`."""
    return PI / 4 * gauge_diameter_m(gauge) ** 2
