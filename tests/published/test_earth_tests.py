"""Measuring earths against the handbook's 61.8 %, Tagg's table and textbook examples."""

import math
from decimal import Decimal as D

import pytest
from scipy import optimize

from inspections.calculations.earth_tests import (
    loop_ohm,
    plateau,
    potential_probe_m,
    slope_coefficient,
    slope_place,
    suggests_metal_loop,
    three_points,
)
from tests.published.tables import table


def test_it_places_the_potential_probe_at_61_8_percent():
    """From P² + PC − C² = 0, the frame of MIL-HDBK-419A Vol I (computed): 61.8034 m of 100 m; practice says 62 %."""
    row = next(row for row in table("electrode_examples") if row["case"].startswith("fall of potential"))
    assert potential_probe_m(100) == pytest.approx(float(row["value"]), abs=6e-5)


def test_it_reads_a_hemisphere_truly_at_the_place_it_gives():
    """Even soil, a hemisphere of 1 m, current probe at 100 m: V/I = ρ/2π (1/r − 1/P − 1/C + 1/(C − P)) (textbook)."""
    p = potential_probe_m(100)
    read = 100 / (2 * math.pi) * (1 - 1 / p - 1 / 100 + 1 / (100 - p))
    hemisphere = next(row for row in table("electrode_examples") if row["case"] == "hemisphere")
    assert read == pytest.approx(float(hemisphere["value"]), abs=6e-5)


@pytest.mark.parametrize(
    ("readings", "mean", "spread", "flat"),
    [(["57.5", "58.0", "59.0"], "58.167", "1.4", True), (["41", "48", "60"], "49.667", "20.8", False)],
)
def test_it_tells_a_plateau_from_a_slope(readings, mean, spread, flat):
    """Worked figures of the trade: 1.4 % is fine, 21 % is no plateau (common practice, no published source)."""
    found = plateau([D(text) for text in readings])
    assert (round(found.mean_ohm, 3), round(found.spread_percent, 1), found.flat) == (
        D(mean),
        D(spread),
        flat,
    )


@pytest.mark.parametrize("row", table("electrode_slope_method"), ids=lambda row: f"mu {row['mu']}")
def test_it_gives_taggs_table(row):
    """G. F. Tagg, Proc. IEE 117 (1970), recomputed (computed; rows 0.40 and 0.50 as printed are recalled as 0.6432 and
    0.6288). Tolerance: half the fourth decimal."""
    found = slope_place(float(row["mu"]))
    assert found.ratio == pytest.approx(float(row["PT_over_C"]), abs=5.1e-5)
    assert found.offset == pytest.approx(float(row["offset_x_over_C"]), abs=5.1e-5)


@pytest.mark.parametrize("offset", [-0.05, 0.0, 0.1, 0.4, 0.7])
def test_it_finds_the_place_where_a_shifted_hemisphere_is_read_truly(offset):
    """The readings made from the model at 20, 40 and 60 %, the place by scipy's root finder. Tolerance 1e-9."""
    radius = 0.02

    def reading(p):
        return 1 / radius - 1 / (p + offset) - 1 / (1 + offset) + 1 / (1 - p)

    mu = slope_coefficient(*(D(reading(p)) for p in (0.2, 0.4, 0.6)))
    other = optimize.brentq(lambda p: reading(p) - 1 / radius, max(0.01, 0.01 - offset), 0.99)
    assert slope_place(float(mu)).ratio == pytest.approx(other, rel=1e-9)


def test_it_takes_mu_from_three_readings():
    """µ = (R₆₀ − R₄₀)/(R₄₀ − R₂₀) (Tagg 1970): 8.8, 12.2, 15.0 Ω give 0.8235 (computed by hand: 2.8/3.4)."""
    assert slope_coefficient(D("8.8"), D("12.2"), D("15.0")) == D("2.8") / D("3.4")


def test_it_solves_three_electrodes_from_their_pairs():
    """R₁ = (R₁₂ + R₁₃ − R₂₃)/2 (textbook; IEEE Std 81, from memory), put together from 10, 20 and 30 Ω."""
    row = next(row for row in table("low_resistance_measurement") if row["rule"].startswith("loop"))
    assert row["formula"] == "R1 = (R12+R13-R23)/2"
    found = three_points(D(30), D(40), D(50))
    assert found.resistances_ohm == (10, 20, 30)
    assert found.amplifications == (6, 3, 2)
    assert found.ill_conditioned


def test_it_says_by_how_much_an_error_is_magnified():
    """Each reading 1 % wrong the worst way: the result moves by the amplification times 1 % (computed)."""
    true = three_points(D(25), D(27), D(32))
    wrong = three_points(D(25) * D("1.01"), D(27) * D("1.01"), D(32) * D("0.99"))
    moved = wrong.resistances_ohm[0] / true.resistances_ohm[0] - 1
    assert moved == pytest.approx(true.amplifications[0] * D("0.01"), rel=D("1E-20"))
    assert not true.ill_conditioned


def test_it_reads_two_rods_as_their_sum_and_many_as_little_more_than_one():
    """Series and parallel resistances: the loop of two rods is their sum; 48 Ω and a hundred of 50 Ω read 48.5 Ω."""
    assert loop_ohm(D(48), [D(52)]) == 100
    assert loop_ohm(D(48), [D(50)] * 100) == pytest.approx(D("48.5"), rel=D("1E-25"))


def test_it_suspects_a_metal_loop_below_one_ohm():
    """Common practice, no published source."""
    assert suggests_metal_loop(D("0.99"))
    assert not suggests_metal_loop(D(1))
