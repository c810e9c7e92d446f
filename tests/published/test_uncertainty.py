"""Uncertainty against the GUM's examples (JCGM 100:2008) and second opinions.

Rows marked "from memory" in the tables were not seen in the document; they agree with scipy, which is checked too.
"""

from decimal import Decimal as D

import pytest
from scipy import stats

from inspections.calculations.spread import mean
from inspections.calculations.uncertainty import (
    combine,
    rectangular,
    resolution,
    root_sum_square,
    standard_deviation_of_mean,
    student_t_95,
)
from tests.published.tables import table


@pytest.mark.parametrize("row", table("student_t_gum"), ids=lambda row: f"nu {row['degrees']}")
def test_it_gives_the_tabulated_t(row):
    """JCGM 100:2008, table of t (from memory), to half the last printed digit; and scipy to 1e-9."""
    found = float(student_t_95(D(row["degrees"])))
    half_digit = 10 ** -(len(row["t95"].partition(".")[2])) / 2
    assert found == pytest.approx(float(row["t95"]), abs=half_digit * 1.01)
    assert found == pytest.approx(stats.t.ppf(0.975, int(row["degrees"])), rel=1e-9)


def test_it_evaluates_twenty_temperatures_as_the_gum_does():
    """Mean 100.145, s 1.489, u(mean) 0.333 °C (JCGM 100:2008, Type A example, from memory)."""
    values = [D(row["temperature_c"]) for row in table("type_a_gum")]
    assert round(mean(values), 3) == D("100.145")
    assert float(standard_deviation_of_mean(values)) == pytest.approx(0.333, abs=5e-4)
    assert float(standard_deviation_of_mean(values)) * 20**0.5 == pytest.approx(1.489, abs=5e-4)


def test_it_takes_a_digital_voltmeters_bound_as_rectangular():
    """± 15 µV rectangular is 8.7 µV; with 12 µV of scatter together 15 µV (JCGM 100:2008 examples, from memory)."""
    assert float(rectangular(D(15))) == pytest.approx(8.7, abs=0.05)
    assert float(root_sum_square([D(12), D("8.7")])) == pytest.approx(15, abs=0.5)
    assert float(rectangular(D(4))) == pytest.approx(2.3, abs=0.05)


def test_it_takes_a_digital_step_as_0_28868_of_itself():
    """d/√12 (JCGM 100:2008, resolution of an indication, from memory)."""
    assert float(resolution(D(1))) == pytest.approx(0.28868, abs=5e-6)


def test_it_takes_sixteen_degrees_of_freedom_to_the_gums_t():
    """The end-gauge example has ν_eff = 16, where t₀.₉₅ is 2.12 (JCGM 100:2008, from memory)."""
    found = combine([(D(32), D(16))])
    assert found.degrees == 16
    assert float(found.factor) == pytest.approx(2.12, abs=5e-3)
