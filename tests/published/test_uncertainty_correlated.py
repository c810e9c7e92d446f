"""Correlated uncertainty against the GUM's example H.2 and the uncertainties library; Type B by other bounds.

Tables: gum_h2_data.csv (seen), uncertainty_examples.csv.
"""

import math
from decimal import Decimal as D

import pytest
import uncertainties
from uncertainties import umath

from inspections.calculations.spread import mean
from inspections.calculations.uncertainty import (
    combine_correlated,
    correlation,
    covariance,
    effective_degrees,
    from_expanded,
    operating_standard_ohm,
    rectangular,
    root_sum_square,
    standard_deviation_of_mean,
    triangular,
)
from tests.published.tables import table

ROWS = table("gum_h2_data")
OBSERVED = [[D(row[key]) for row in ROWS] for key in ("x1", "x2", "x3")]
VOLTS, AMPS, RADIANS = OBSERVED[0], [milli / 1000 for milli in OBSERVED[1]], OBSERVED[2]
PRINTED = {
    row["quantity"]: row["value"] for row in table("uncertainty_examples") if row["example"].startswith("H.2")
}


def example_h2():
    """Means, standard uncertainties and correlations of V, I, φ, and what each contributes to R, X and Z."""
    observed = (VOLTS, AMPS, RADIANS)
    v, i, phi = (float(mean(values)) for values in observed)
    u = [float(standard_deviation_of_mean(values)) for values in observed]
    r = [[D(1) if a is b else correlation(a, b) for b in observed] for a in observed]
    z, cos, sin = v / i, math.cos(phi), math.sin(phi)
    slopes = {
        "R": (cos / i, -z * cos / i, -z * sin),
        "X": (sin / i, -z * sin / i, z * cos),
        "Z": (1 / i, -z / i, 0),
    }
    parts = {name: [D(c * part) for c, part in zip(found, u, strict=True)] for name, found in slopes.items()}
    return {"R": z * cos, "X": z * sin, "Z": z}, parts, r


def test_it_gives_resistance_reactance_and_impedance_of_the_gum():
    """JCGM 100:2008 H.2 (seen): 127.732, 219.847, 254.260 Ω with 0.071, 0.295, 0.236 Ω. u(X) is printed as 0.295 by one
    of its two approaches and 0.296 by the other; from the raw data it is 0.2956. Tolerance: one in the last digit."""
    values, parts, r = example_h2()
    for name, found in values.items():
        assert found == pytest.approx(float(PRINTED[name]), abs=6e-4)
        assert float(combine_correlated(parts[name], r)) == pytest.approx(
            float(PRINTED[f"u({name})"]), abs=1e-3
        )


def test_it_gives_the_correlations_of_the_gums_results():
    """JCGM 100:2008 H.2 (seen): r(R,X) −0.588, r(R,Z) −0.485, r(X,Z) 0.993. Tolerance: half a digit and a hair."""
    _, parts, r = example_h2()
    for first, second in ("RX", "RZ", "XZ"):
        found = covariance(parts[first], parts[second], r) / (
            combine_correlated(parts[first], r) * combine_correlated(parts[second], r)
        )
        assert float(found) == pytest.approx(float(PRINTED[f"r({first},{second})"]), abs=6e-4)


def test_it_does_not_fall_into_the_trap_of_leaving_correlations_out():
    """Without them u(R) would be 0.195 Ω (computed), 2.7 times too large."""
    _, parts, r = example_h2()
    alone = [float(root_sum_square(parts[name])) for name in "RXZ"]
    assert alone == pytest.approx([0.195, 0.201, 0.204], abs=6e-4)
    assert alone[0] / float(combine_correlated(parts["R"], r)) == pytest.approx(2.74, abs=0.02)


def test_it_agrees_with_the_uncertainties_library():
    """Second opinion on H.2: correlated values of the uncertainties library. Tolerance 1e-9."""
    _, parts, r = example_h2()
    observed = (VOLTS, AMPS, RADIANS)
    pairs = [(float(mean(values)), float(standard_deviation_of_mean(values))) for values in observed]
    v, i, phi = uncertainties.correlated_values_norm(pairs, [[float(part) for part in row] for row in r])
    for name, other in (("R", v / i * umath.cos(phi)), ("X", v / i * umath.sin(phi)), ("Z", v / i)):
        assert float(combine_correlated(parts[name], r)) == pytest.approx(other.std_dev, rel=1e-9)


def test_it_adds_ten_resistors_of_one_standard_linearly():
    """JCGM 100:2008 5.2.2 (from memory): ten of 100 mΩ, all of one standard, are 1 Ω in series, not 0.32 Ω."""
    tenth = [D("0.1")] * 10
    together = combine_correlated(tenth, [[D(1)] * 10] * 10)
    assert together == 1
    apart = combine_correlated(tenth, [[D(int(i == j)) for j in range(10)] for i in range(10)])
    assert float(apart) == pytest.approx(0.32, abs=5e-3)


def test_it_divides_triangular_bounds_by_the_root_of_six():
    """JCGM 100:2008 4.4.6 (from memory): ± 4 °C triangular is 1.6 °C; rectangular 2.3 °C."""
    assert float(triangular(D(4))) == pytest.approx(1.6, abs=0.05)
    assert float(triangular(D(1))) == pytest.approx(1 / math.sqrt(6), rel=1e-15)


def test_it_takes_a_certificates_u_by_its_own_factor():
    """JCGM 100:2008 4.3 (from memory): U/2 for k = 2, U/2.576 for a normal 99 % interval."""
    assert from_expanded(D(93), D(2)) == D("46.5")
    assert float(from_expanded(D("2.576"), D("2.576"))) == 1


def test_it_enters_an_operating_uncertainty_as_a_rectangular_bound():
    """IEC 61557's greatest operating uncertainty of 30 % (from memory): u = 0.3 R/√3, 15 % above what k =
    2 would give."""
    found = operating_standard_ohm(D(100))
    assert found == rectangular(D(30))
    assert float(found) == pytest.approx(17.3205, abs=5e-5)
    assert float(found) / float(from_expanded(D(30), D(2))) == pytest.approx(1.1547, abs=1e-4)


def test_it_keeps_four_degrees_of_freedom_for_five_simultaneous_observations():
    """H.2: with every part from five observations ν_eff of one such part is 4 (GUM, Type A: n − 1)."""
    u = standard_deviation_of_mean(VOLTS)
    assert effective_degrees(u, [(u, D(len(VOLTS) - 1))]) == pytest.approx(D(4), rel=D("1E-20"))
