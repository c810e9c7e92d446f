"""Probability of conformity and global risks against JCGM 106:2012 and ILAC-G8 (decision_rules.csv), and scipy."""

import re

import pytest
from scipy import integrate, stats

from inspections.calculations.conformity import conformity_probability, global_risks, normal_below
from tests.published.tables import table

ROWS = table("decision_rules")


def test_it_gives_the_one_sided_example():
    """JCGM 106:2012, breakdown voltage (from memory): −5.47 ± 0.05 V against −5.40 V is 0.92. Half a digit."""
    found = conformity_probability(-5.47, 0.05, upper=-5.40)
    assert found == pytest.approx(0.92, abs=5e-3)
    assert found == pytest.approx(stats.norm.cdf(1.4), rel=1e-9)


def test_it_gives_the_two_sided_example():
    """JCGM 106:2012, oil viscosity (seen): 13.6 ± 1.8 within 12.5 to 16.3 mm²/s is 0.66; 0.6626 to its digits."""
    found = conformity_probability(13.6, 1.8, lower=12.5, upper=16.3)
    assert found == pytest.approx(0.6626, abs=5.1e-5)


def test_it_rejects_speeds_as_the_guarded_example_does():
    """JCGM 106:2012 (from memory): 2 % uncertainty, 99.9 %: a limit of 100 km/h is surely passed at 107 km/h."""
    assert 1 - conformity_probability(107, 0.02 * 107, upper=100) > 0.999
    assert 1 - conformity_probability(106, 0.02 * 106, upper=100) < 0.999


@pytest.mark.parametrize(
    "row", [row for row in ROWS if row["case"].startswith("guard band table")], ids=lambda row: row["case"]
)
def test_it_gives_the_risks_of_the_guard_bands(row):
    """ILAC-G8:09/2019's table (from memory): the probability of wrong acceptance just at the guarded limit."""
    times = float(row["input"].removeprefix("w = ").removesuffix("U").replace("-", "-1") or 1)
    times = -1.0 if row["input"] == "w = -U" else times
    wrong = 1 - conformity_probability(10 - times * 2, 1.0, upper=10)
    printed = float(re.search(r"1-Phi\(\S+\) = (\S+)", row["note"])[1])
    expected = 1 - printed if times < 0 else printed
    assert wrong == pytest.approx(expected, rel=5e-3)


def test_it_guards_for_5_percent_with_0_8224_of_u():
    """w = 1.645 u is 0.8224 U (computed); 0.83 is rounded up."""
    assert 1 - conformity_probability(-1.645, 1.0, upper=0) == pytest.approx(0.05, abs=5e-5)
    assert 1 - conformity_probability(-0.8224 * 2, 1.0, upper=0) == pytest.approx(0.05, abs=5e-5)


RISKS = [
    (0.0, "0.0189", "0.0372"), (0.04, "0.004334", "0.114657"), (0.08, "0.000469", "0.247670"),
    (-0.04, "0.044898", "0.007097"),
]  # fmt: skip


@pytest.mark.parametrize(("band", "consumer", "producer"), RISKS)
def test_it_gives_the_global_risks_of_resistors(band, consumer, producer):
    """1500 ± 0.2 Ω, u₀ = 0.12, u_m = 0.04 Ω (inputs recalled from JCGM 106:2012; risks computed apart, its printed
    ones not checked). Tolerance: half the last digit."""
    rows = [row["result"] for row in ROWS if row["case"].startswith("global risk")]
    assert any(consumer in result and producer in result for result in rows)
    found = global_risks(1500, 0.12, 0.04, 1499.8, 1500.2, band)
    assert found.consumer == pytest.approx(float(consumer), abs=0.51 * 10 ** -(len(consumer) - 2))
    assert found.producer == pytest.approx(float(producer), abs=0.51 * 10 ** -(len(producer) - 2))


@pytest.mark.parametrize(
    ("mean", "sd", "um", "band"), [(0, 1, 0.2, 0.1), (0.8, 0.3, 0.3, 0.0), (0, 0.2, 0.001, 0.0)]
)
def test_it_gives_the_global_risks_that_scipy_integrates(mean, sd, um, band):
    """Second opinion: scipy's quadrature of the same definition. Tolerance 1e-8."""
    lower, upper = -1.0, 1.0

    def accepted(x):
        return stats.norm.cdf((upper - band - x) / um) - stats.norm.cdf((lower + band - x) / um)

    def density(x):
        return stats.norm.pdf(x, mean, sd)

    outside = sum(
        integrate.quad(lambda x: density(x) * accepted(x), *ends, epsabs=1e-12, limit=400, points=points)[0]
        for ends, points in (
            ((mean - 9 * sd - 2, lower), [lower - um, lower - 3 * um]),
            ((upper, mean + 9 * sd + 2), [upper + um, upper + 3 * um]),
        )
    )
    inside, _ = integrate.quad(
        lambda x: density(x) * (1 - accepted(x)),
        lower,
        upper,
        epsabs=1e-12,
        limit=400,
        points=[lower + um, upper - um],
    )
    found = global_risks(mean, sd, um, lower, upper, band)
    assert (found.consumer, found.producer) == pytest.approx((outside, inside), abs=1e-8)


@pytest.mark.parametrize("z", [-30.0, -6.0, -1.4, 0.0, 0.5, 3.0, 9.0])
def test_it_gives_the_normal_distribution_far_into_its_tail(z):
    """scipy's own, to 1e-12 relative also where the share is 1e-197."""
    assert normal_below(z) == pytest.approx(stats.norm.cdf(z), rel=1e-12)
