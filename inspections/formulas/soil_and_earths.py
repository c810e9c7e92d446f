"""Soil, earth electrodes and their tests as formulas with their working."""

from decimal import Decimal

from inspections.calculations import earth_tests, electrodes, rods_together, soil
from inspections.calculations.units import AREA, LENGTH, RESISTANCE, RESISTIVITY
from inspections.formulas.facts import NUMBER, RESISTANCES, Formula, Input, Worked, shown, signed

RHO = Input("resistivity", RESISTIVITY, "Soil resistivity")
CONDUCTOR = Input("conductor_diameter", LENGTH, "Diameter of the conductor", example="10 mm")
DEPTH = Input("depth", LENGTH, "Depth in the ground", example="0.6 m")


def _wenner(spacing: Decimal, resistance: Decimal, depth: Decimal | None) -> Worked:
    a, r = float(spacing), float(resistance)
    found = soil.wenner_resistivity_ohm_m(a, r, None if depth is None else float(depth))
    if depth is None:
        line = f"ρ = 2π a R = 2π × {shown(spacing)} × {shown(resistance)} = {shown(found, 'Ω·m')}"
        return Worked({"resistivity": found}, (line,))
    divisor = soil.wenner_depth_divisor(a, float(depth))
    a_text, b_text = shown(spacing), shown(depth)
    lines = (
        f"1 + 2a/√(a² + 4b²) − a/√(a² + b²) = 1 + 2 × {a_text}/√({a_text}² + 4 × {b_text}²)"
        f" − {a_text}/√({a_text}² + {b_text}²) = {shown(divisor)}",
        f"ρ = 4π a R / {shown(divisor)} = 4π × {shown(spacing)} × {shown(resistance)} / {shown(divisor)}"
        f" = {shown(found, 'Ω·m')}",
    )
    return Worked({"resistivity": found}, lines)


def _two_layer(upper: Decimal, lower: Decimal, thickness: Decimal, spacing: Decimal) -> Worked:
    r1, r2, h, a = (float(value) for value in (upper, lower, thickness, spacing))
    found = soil.two_layer_apparent_ohm_m(r1, r2, h, a)
    k = soil.reflection_factor(r1, r2)
    total = soil.image_sum(k, h / a)
    lines = (
        f"k = (ρ₂ − ρ₁)/(ρ₂ + ρ₁) = ({shown(lower)} − {shown(upper)})/({shown(lower)} + {shown(upper)})"
        f" = {shown(k)}",
        f"Σ kⁿ [1/√(1 + (2nh/a)²) − 1/√(4 + (2nh/a)²)], h/a = {shown(thickness)}/{shown(spacing)}:"
        f" {shown(total, significant=10)}",
        f"ρₐ = ρ₁ (1 + 4 Σ) = {shown(upper)} × (1 + 4 × ({shown(total, significant=10)})) = {shown(found, 'Ω·m')}",
    )
    return Worked({"apparent_resistivity": found}, lines)


def _slope(mu: Decimal) -> Worked:
    found = earth_tests.slope_place(float(mu))
    x = signed(round(found.offset, 12))
    lines = (
        f"µ = {shown(mu)} puts the electrode's electrical centre x/C = {x} behind the starting point",
        "P_T/C solves p² + (1 + 3x) p + x² − x − 1 = 0:"
        f" (√((1 + 3 × {x})² − 4 × ({x}² − {x} − 1)) − (1 + 3 × {x}))/2 = {shown(found.ratio)}",
    )
    return Worked({"ratio": found.ratio}, lines)


def _rod(resistivity: Decimal, length: Decimal, diameter: Decimal) -> Worked:
    found = electrodes.rod_ohm(float(resistivity), float(length), float(diameter))
    inside = shown(float(Decimal(8) * length / diameter))
    line = (
        f"R = ρ/(2πL) [ln(8L/d) − 1] = {shown(resistivity)}/(2π × {shown(length)}) × [ln({inside}) − 1]"
        f" = {shown(found, 'Ω')}"
    )
    return Worked({"resistance": found}, (line,))


def _plate(resistivity: Decimal, area: Decimal) -> Worked:
    found = electrodes.plate_ohm(float(resistivity), float(area))
    line = f"R = (ρ/4) √(π/A) = ({shown(resistivity)}/4) × √(π/{shown(area)}) = {shown(found, 'Ω')}"
    return Worked({"resistance": found}, (line,))


def _strip(resistivity: Decimal, length: Decimal, conductor_diameter: Decimal, depth: Decimal) -> Worked:
    given = tuple(float(value) for value in (resistivity, length, conductor_diameter, depth))
    found, short = electrodes.strip_ohm(*given), electrodes.strip_short_form_ohm(*given)
    half, s, radius = length / 2, 2 * depth, conductor_diameter / 2
    ends = s / (2 * half) - s**2 / (16 * half**2) + s**4 / (512 * half**4)
    inside = length**2 / (Decimal("1.85") * depth * conductor_diameter)
    lines = (
        f"l = L/2 = {shown(half)}, s = 2h = {shown(s)}, a = d/2 = {shown(radius)}, all in m",
        f"s/2l − s²/16l² + s⁴/512l⁴ = {shown(s)}/(2 × {shown(half)}) − {shown(s)}²/(16 × {shown(half)}²)"
        f" + {shown(s)}⁴/(512 × {shown(half)}⁴) = {shown(ends)}",
        f"R = ρ/(4πl) [ln(4l/a) + ln(4l/s) − 2 + {shown(ends)}] = {shown(resistivity)}/(4π × {shown(half)})"
        f" × [ln({shown(4 * half / radius)}) + ln({shown(4 * half / s)}) − 2 + {shown(ends)}] = {shown(found, 'Ω')}",
        f"For comparison, BS 7430's shorter form ρ/(2πL) ln(L²/(1.85 h d)): {shown(resistivity)}"
        f"/(2π × {shown(length)}) × ln({shown(inside)}) = {shown(short, 'Ω')}",
    )
    return Worked({"resistance": found}, lines)


def _ring(
    resistivity: Decimal, ring_diameter: Decimal, conductor_diameter: Decimal, depth: Decimal
) -> Worked:
    given = (resistivity, ring_diameter, conductor_diameter, depth)
    found = electrodes.ring_ohm(*(float(value) for value in given))
    wide, deep = 8 * ring_diameter / conductor_diameter, 2 * ring_diameter / depth
    line = (
        f"R = ρ/(2π²D) [ln(8D/d) + ln(4D/s)], s = 2h: {shown(resistivity)}/(2π² × {shown(ring_diameter)})"
        f" × [ln({shown(wide)}) + ln({shown(deep)})] = {shown(found, 'Ω')}"
    )
    return Worked({"resistance": found}, (line,))


def _parallel(resistances: list[Decimal]) -> Worked:
    found = rods_together.parallel_ohm(resistances)
    first = " + ".join(f"1/{shown(part)}" for part in resistances[:12])
    more = f" + … ({len(resistances)} in all)" if len(resistances) > 12 else ""
    return Worked({"resistance": found}, (f"R = 1/({first}{more}) = {shown(found, 'Ω')}",))


SOIL_AND_EARTHS = (
    Formula(
        "wenner",
        "Soil resistivity by four pins",
        (
            Input("spacing", LENGTH, "Spacing of the pins", example="5 m"),
            Input("resistance", RESISTANCE, "Resistance read", example="2 Ω"),
            Input("depth", LENGTH, "Depth of the pins", optional=True, example="0.2 m"),
        ),
        {"resistivity": RESISTIVITY},
        _wenner,
        soil.WENNER_SOURCE,
        soil.WENNER_VALIDITY,
    ),
    Formula(
        "two_layer",
        "Apparent resistivity over two layers",
        (
            Input("upper", RESISTIVITY, "Resistivity of the upper layer"),
            Input("lower", RESISTIVITY, "Resistivity of the lower layer"),
            Input("thickness", LENGTH, "Thickness of the upper layer", example="2 m"),
            Input("spacing", LENGTH, "Spacing of the pins", example="5 m"),
        ),
        {"apparent_resistivity": RESISTIVITY},
        _two_layer,
        soil.TWO_LAYER_SOURCE,
        soil.TWO_LAYER_VALIDITY,
    ),
    Formula(
        "slope",
        "Place of the potential probe by the slope method",
        (Input("mu", NUMBER, "Slope coefficient µ"),),
        {"ratio": NUMBER},
        _slope,
        earth_tests.SLOPE_SOURCE,
        earth_tests.SLOPE_VALIDITY,
    ),
    Formula(
        "rod",
        "Driven rod",
        (
            RHO,
            Input("length", LENGTH, "Length in the ground", example="2.4 m"),
            Input("diameter", LENGTH, "Diameter of the rod", example="16 mm"),
        ),
        {"resistance": RESISTANCE},
        _rod,
        electrodes.ROD_SOURCE,
        electrodes.ROD_VALIDITY,
    ),
    Formula(
        "plate",
        "Buried plate",
        (RHO, Input("area", AREA, "Area of one face", example="0.5 m²")),
        {"resistance": RESISTANCE},
        _plate,
        electrodes.PLATE_SOURCE,
        electrodes.PLATE_VALIDITY,
    ),
    Formula(
        "strip",
        "Straight conductor in the ground",
        (RHO, Input("length", LENGTH, "Length of the conductor"), CONDUCTOR, DEPTH),
        {"resistance": RESISTANCE},
        _strip,
        electrodes.STRIP_SOURCE,
        electrodes.STRIP_VALIDITY,
    ),
    Formula(
        "ring",
        "Ring in the ground",
        (RHO, Input("ring_diameter", LENGTH, "Diameter of the ring"), CONDUCTOR, DEPTH),
        {"resistance": RESISTANCE},
        _ring,
        electrodes.RING_SOURCE,
        electrodes.RING_VALIDITY,
    ),
    Formula(
        "parallel",
        "Resistances in parallel",
        (Input("resistances", RESISTANCES, "Resistances"),),
        {"resistance": RESISTANCE},
        _parallel,
        rods_together.PARALLEL_SOURCE,
        rods_together.PARALLEL_VALIDITY,
    ),
)
