"""What an earth electrode of simple shape comes to in even soil.

Every formula here is Dwight's where he gives one (H. B. Dwight, Calculation of resistances to ground, 1936; the
same in IEEE Std 142), since he derives all shapes alike; a plate is BS 7430's. Shorter and older forms differ:
the strip of BS 7430 leaves out the growing end terms, EN 50522 leaves out the depth of a ring.
Binary floats: soil is known to a few per cent, and no verdict hangs on these numbers.
"""

import math

from inspections.calculations.soil import require_positive

ROD_SOURCE = "R = ρ/(2πL) [ln(8L/d) − 1]: Dwight 1936; IEEE Std 142; BS 7430"
ROD_VALIDITY = "Even soil; a round rod driven from the surface, at least ten times as long as it is thick."
PLATE_SOURCE = "R = (ρ/4) √(π/A), A the area of one face: BS 7430 (from memory)"
PLATE_VALIDITY = "Even soil; one plate about as wide as it is high, thin against its width."
STRIP_SOURCE = (
    "R = ρ/(4πl) [ln(4l/a) + ln(4l/s) − 2 + s/2l − s²/16l² + s⁴/512l⁴], L = 2l, s = 2h, a = d/2:"
    " Dwight 1936; IEEE Std 142"
)
STRIP_VALIDITY = (
    "Even soil; a straight round conductor lying level, deeper than it is thick, at most a quarter of its"
    " length deep, at least ten times as long as it is thick."
)
RING_SOURCE = "R = ρ/(2π²D) [ln(8D/d) + ln(4D/s)], s = 2h: Dwight 1936; IEEE Std 142"
RING_VALIDITY = (
    "Even soil; a closed round ring of round conductor lying level, deeper than the conductor is thick, at most"
    " a quarter of the ring's diameter deep, at least ten times as wide as the conductor is thick."
)
SLENDER = 10
LARGEST_DEPTH_SHARE = 4


def rod_ohm(resistivity_ohm_m: float, length_m: float, diameter_m: float) -> float:
    """A driven rod: R = ρ/(2πL) [ln(8L/d) − 1] [ohm].

    resistivity_ohm_m: of even soil [ohm*m]; length_m: in the ground [m]; diameter_m: of the rod [m]
    Raises: ValueError outside validity
    Valid for a rod from the surface down, at least ten diameters long.
    Source: Dwight 1936; IEEE Std 142; BS 7430. EN 50522 writes ln(4L/d), 5 % more for a usual rod.

    >>> round(rod_ohm(100, 2.4384, 0.015875), 4)
    39.9049
    """
    require_positive(resistivity=resistivity_ohm_m, length=length_m, diameter=diameter_m)
    if length_m < SLENDER * diameter_m:
        raise ValueError("The rod must be at least ten times as long as it is thick.")
    return resistivity_ohm_m / (2 * math.pi * length_m) * (math.log(8 * length_m / diameter_m) - 1)


def plate_ohm(resistivity_ohm_m: float, area_m2: float) -> float:
    """A buried plate: R = (ρ/4) √(π/A) [ohm], that of a disc of the same area at the surface.

    resistivity_ohm_m: of even soil [ohm*m]; area_m2: of one face [m²]
    Raises: ValueError outside validity
    Valid for one thin plate about as wide as it is high; deep down it comes to as little as half of this.
    Source: BS 7430 (from memory)

    >>> round(plate_ohm(100, 1), 4)
    44.3113
    """
    require_positive(resistivity=resistivity_ohm_m, area=area_m2)
    return resistivity_ohm_m / 4 * math.sqrt(math.pi / area_m2)


def strip_ohm(
    resistivity_ohm_m: float, length_m: float, conductor_diameter_m: float, depth_m: float
) -> float:
    """A straight round conductor lying level in the ground, after Dwight [ohm].

    resistivity_ohm_m: of even soil [ohm*m]; length_m, conductor_diameter_m, depth_m: [m]
    Raises: ValueError outside validity
    Valid for a depth from one conductor diameter to a quarter of the length, and a length of at least ten
        diameters. A flat strip counts as round with 0.45 of its width as its diameter (Dwight, thin strip).
    Source: Dwight 1936; IEEE Std 142, with L = 2l, s = 2h, a = d/2

    >>> round(strip_ohm(100, 20, 0.01, 0.6), 4)
    8.3977
    """
    _require_level(resistivity_ohm_m, length_m, conductor_diameter_m, depth_m, "length")
    half, s, radius = length_m / 2, 2 * depth_m, conductor_diameter_m / 2
    x = s / half
    ends = x / 2 - x**2 / 16 + x**4 / 512
    series = math.log(4 * half / radius) + math.log(4 / x) - 2 + ends
    return resistivity_ohm_m / (4 * math.pi * half) * series


def strip_short_form_ohm(
    resistivity_ohm_m: float, length_m: float, conductor_diameter_m: float, depth_m: float
) -> float:
    """The same conductor by BS 7430's shorter form: R = ρ/(2πL) ln(L²/(1.85 h d)) [ohm].

    Units and validity: as `strip_ohm`, which keeps the end terms that this form leaves out: it comes out lower,
        by 0.6 % at a depth of 3 % of the length. Raises: ValueError outside validity
    Source: BS 7430, round conductor (from memory); 1.85 is e²/4 rounded, Dwight's leading terms

    >>> round(strip_short_form_ohm(100, 20, 0.01, 0.6), 4)
    8.3495
    """
    _require_level(resistivity_ohm_m, length_m, conductor_diameter_m, depth_m, "length")
    inside = length_m**2 / (1.85 * depth_m * conductor_diameter_m)
    return resistivity_ohm_m / (2 * math.pi * length_m) * math.log(inside)


def ring_ohm(
    resistivity_ohm_m: float, ring_diameter_m: float, conductor_diameter_m: float, depth_m: float
) -> float:
    """A closed ring of round conductor lying level in the ground: R = ρ/(2π²D) [ln(8D/d) + ln(4D/s)], s = 2h [ohm].

    resistivity_ohm_m: of even soil [ohm*m]; ring_diameter_m, conductor_diameter_m, depth_m: [m]
    Raises: ValueError outside validity
    Valid for a depth from one conductor diameter to a quarter of the ring's diameter, and a ring at least ten
        conductor diameters wide.
    Source: Dwight 1936; IEEE Std 142. EN 50522 leaves the depth out: 36 % more at 0.6 m under a ring of 20 m.

    >>> round(ring_ohm(100, 20, 0.01, 0.6), 4)
    3.5159
    """
    _require_level(resistivity_ohm_m, ring_diameter_m, conductor_diameter_m, depth_m, "ring diameter")
    series = math.log(8 * ring_diameter_m / conductor_diameter_m) + math.log(2 * ring_diameter_m / depth_m)
    return resistivity_ohm_m / (2 * math.pi**2 * ring_diameter_m) * series


def _require_level(
    resistivity_ohm_m: float, extent_m: float, conductor_m: float, depth_m: float, name: str
) -> None:
    require_positive(
        resistivity=resistivity_ohm_m, conductor_diameter=conductor_m, depth=depth_m, **{name: extent_m}
    )
    if extent_m < SLENDER * conductor_m:
        raise ValueError(f"The {name} must be at least ten conductor diameters.")
    if depth_m < conductor_m:
        raise ValueError("The depth must be at least one conductor diameter: the conductor is buried.")
    if depth_m * LARGEST_DEPTH_SHARE > extent_m:
        raise ValueError(f"The depth must be no more than a quarter of the {name}.")
