"""Metal conductors as formulas with their working."""

from decimal import Decimal
from typing import Protocol

from inspections.calculations import conductors, temperature
from inspections.calculations.units import AREA, LENGTH, RESISTANCE, TEMPERATURE, TEMPERATURE_COEFFICIENT
from inspections.formulas.facts import GAUGE, METAL, NUMBER, Formula, Input, Worked, shown, signed

TWENTY_C = Decimal(20)
SQUARE_MILLIMETRES = Decimal(1_000_000)
METAL_VALIDITY = (
    "Solid metals from −100 to 300 °C; copper's own curve lies within 0.5\u00a0% of the line from 0 to 200 °C. Never"
    " soil."
)


class Metal(Protocol):
    """What these formulas ask of a metal; the facts of the verdict's Material have it."""

    @property
    def name(self) -> str: ...
    @property
    def alpha_per_k(self) -> Decimal | None: ...
    @property
    def alpha_at_c(self) -> Decimal: ...
    @property
    def resistivity_ohm_m(self) -> Decimal | None: ...
    @property
    def source(self) -> str: ...


def _alpha_at(alpha: Decimal, at: Decimal, to: Decimal) -> Worked:
    if alpha < 0:
        raise ValueError("A metal's temperature coefficient is not below zero.")
    found = temperature.alpha_at_per_k(alpha, at, to)
    line = (
        f"α_to = α/(1 + α (to − at)) = {shown(alpha)}/(1 + {shown(alpha)} × ({shown(to)} − {signed(at)}))"
        f" = {shown(found, '1/K')} at {shown(to, '°C')}"
    )
    return Worked({"alpha": found}, (line,))


def _temperature_factor(material: Metal, temperature: Decimal) -> Worked:
    known = _coefficient(material)
    factor, line = _factor(material, temperature, TWENTY_C)
    return Worked({"factor": factor}, (known, line))


def _coefficient(material: Metal) -> str:
    if material.alpha_per_k is None:
        raise ValueError(
            f"No temperature coefficient is known for {material.name}: give the one of the metal at hand, such as"
            ' {"alpha": "0.0045 / K", "at": "20 degC"}.'
        )
    return (
        f"{material.name}: α = {shown(material.alpha_per_k)} per K at {shown(material.alpha_at_c, '°C')}"
        f" ({material.source})"
    )


def _factor(material: Metal, from_c: Decimal, to_c: Decimal) -> tuple[Decimal, str]:
    alpha, at = material.alpha_per_k, material.alpha_at_c
    assert alpha is not None  # noqa: S101 - _coefficient has been asked
    factor = temperature.correction(alpha, at, from_c, to_c).factor
    line = (
        f"factor = (1 + {shown(alpha)} × ({shown(to_c)} − {signed(at)}))"
        f"/(1 + {shown(alpha)} × ({shown(from_c)} − {signed(at)}))"
        f" = {shown(factor)}"
    )
    return factor, line


def _conductor(
    material: Metal, length: Decimal, section: Decimal | None, awg: str | None, temperature: Decimal | None
) -> Worked:
    if (section is None) == (awg is None):
        raise ValueError("Give either the section or the gauge, not both and not neither.")
    if material.resistivity_ohm_m is None:
        raise ValueError(f"No resistivity is known for {material.name}: choose a material that has one.")
    area = conductors.gauge_section_m2(awg) if awg is not None else section
    assert area is not None  # noqa: S101 - one of the two is there
    metal_c = TWENTY_C if temperature is None else temperature
    cold = conductors.conductor_ohm(material.resistivity_ohm_m, length, area)
    lines = [] if awg is None else [f"Gauge {awg}: {shown(area * SQUARE_MILLIMETRES, 'mm²')}, solid"]
    lines.append(
        f"R = ρ L / A = {shown(material.resistivity_ohm_m * SQUARE_MILLIMETRES)} × {shown(length)}"
        f" / {shown(area * SQUARE_MILLIMETRES)} = {shown(cold, 'Ω')} at 20{chr(0xA0)}°C ({material.name},"
        f" {material.source})"
    )
    if metal_c == TWENTY_C:
        return Worked({"resistance": cold}, tuple(lines))
    lines.append(_coefficient(material))
    factor, line = _factor(material, TWENTY_C, metal_c)
    found = conductors.conductor_ohm(
        material.resistivity_ohm_m,
        length,
        area,
        alpha_per_k=material.alpha_per_k,
        alpha_at_c=material.alpha_at_c,
        temperature_c=metal_c,
    )
    lines += [line, f"{shown(cold)} × {shown(factor)} = {shown(found, 'Ω')} at {shown(metal_c, '°C')}"]
    return Worked({"resistance": found}, tuple(lines))


METALS = (
    Formula(
        "alpha_at",
        "Temperature coefficient at another temperature",
        (
            Input("alpha", TEMPERATURE_COEFFICIENT, "Coefficient"),
            Input("at", TEMPERATURE, "Given at"),
            Input("to", TEMPERATURE, "Wanted at"),
        ),
        {"alpha": TEMPERATURE_COEFFICIENT},
        _alpha_at,
        "exact for the linear law of metals: 1/α moves by the difference of the temperatures; NBS Handbook 100 (1966)",
        METAL_VALIDITY,
    ),
    Formula(
        "conductor",
        "Resistance of a conductor",
        (
            Input("material", METAL, "Metal"),
            Input("length", LENGTH, "Length"),
            Input("section", AREA, "Section", optional=True),
            Input("awg", GAUGE, "American wire gauge", optional=True),
            Input("temperature", TEMPERATURE, "Temperature of the metal", optional=True),
        ),
        {"resistance": RESISTANCE},
        _conductor,
        conductors.CONDUCTOR_SOURCE,
        conductors.CONDUCTOR_VALIDITY,
    ),
    Formula(
        "temperature_factor",
        "Factor to 20 °C",
        (Input("material", METAL, "Metal"), Input("temperature", TEMPERATURE, "Temperature of the metal")),
        {"factor": NUMBER},
        _temperature_factor,
        temperature.SOURCE,
        METAL_VALIDITY,
    ),
)
