"""Conductor resistance from first principles against IEC 60228 and wire tables.

The printed IEC values are greatest permitted resistances per nominal section: the metal in them is 92 to 96 % of the
nominal section (the table's notes), so a value from the full section must lie 3 to 9 % below, never above.
"""

from decimal import Decimal as D

import pytest

from inspections.calculations.conductors import conductor_ohm, gauge_diameter_m, gauge_section_m2
from inspections.materials import material
from tests.published.tables import table

KILOMETRE = D(1000)
THOUSAND_FEET = D("304.8")
IEC = table("conductors_iec60228")
AWG = table("conductors_awg")

COPPER_COLUMNS = ("class1_Cu_plain_ohm_per_km_20C", "class2_Cu_plain_ohm_per_km_20C")


def at_twenty(metal: str, section_m2: D, length_m: D) -> float:
    return float(conductor_ohm(material(metal).resistivity_ohm_m, length_m, section_m2))


@pytest.mark.parametrize("row", IEC, ids=lambda row: f"{row['area_mm2']} mm2")
def test_it_lies_just_below_the_greatest_permitted_resistance_of_copper(row):
    """IEC 60228:2004 Tables 1 and 2 (as reproduced). Ratio 0.93 to 0.97: effective section over nominal."""
    found = at_twenty("copper", D(row["area_mm2"]) * D("1E-6"), KILOMETRE)
    for column in COPPER_COLUMNS:
        assert 0.92 < found / float(row[column]) < 0.98


@pytest.mark.parametrize(
    "row", [row for row in IEC if row["class2_Al_ohm_per_km_20C"]], ids=lambda row: f"{row['area_mm2']} mm2"
)
def test_it_lies_just_below_the_greatest_permitted_resistance_of_aluminium(row):
    """IEC 60228:2004 (as reproduced), at 2.8264e-8 Ω·m. Ratio 0.915 to 0.945 (the table's notes)."""
    found = at_twenty("aluminium", D(row["area_mm2"]) * D("1E-6"), KILOMETRE)
    assert 0.91 < found / float(row["class2_Al_ohm_per_km_20C"]) < 0.95


@pytest.mark.parametrize("row", IEC, ids=lambda row: f"{row['area_mm2']} mm2")
def test_it_finds_the_effective_section_that_the_table_notes(row):
    """1/(58 R) as the notes print it, to half their last digit; the inverse of our own formula gives R back."""
    printed = float(row["note"].split("=")[2].split("mm2")[0])
    resistance = D(row["class2_Cu_plain_ohm_per_km_20C"])
    section = material("copper").resistivity_ohm_m * KILOMETRE / resistance
    assert float(section) * 1e6 == pytest.approx(printed, abs=0.006)
    assert at_twenty("copper", section, KILOMETRE) == pytest.approx(float(resistance), rel=1e-12)


@pytest.mark.parametrize("row", AWG, ids=lambda row: row["AWG"])
def test_it_follows_the_wire_gauge(row):
    """Diameter and section of the gauge law, to half the last printed digit."""
    assert float(gauge_diameter_m(row["AWG"])) * 1000 == pytest.approx(
        float(row["diameter_mm_law"]), abs=6e-5
    )
    assert float(gauge_section_m2(row["AWG"])) * 1e6 == pytest.approx(float(row["area_mm2"]), abs=6e-4)


@pytest.mark.parametrize("row", AWG, ids=lambda row: row["AWG"])
def test_it_gives_solid_copper_at_20_and_75_degrees(row):
    """Computed columns, to one in their last digit: they were computed from the rounded print 1.7241."""
    copper, section = material("copper"), gauge_section_m2(row["AWG"])
    hot = conductor_ohm(
        copper.resistivity_ohm_m, THOUSAND_FEET, section, alpha_per_k=copper.alpha_per_k, temperature_c=D(75)
    )
    assert at_twenty("copper", section, THOUSAND_FEET) == pytest.approx(
        float(row["solid_Cu_ohm_per_kft_20C"]), abs=1e-4
    )
    assert float(hot) == pytest.approx(float(row["solid_Cu_ohm_per_kft_75C"]), abs=1e-4)


@pytest.mark.parametrize("row", AWG, ids=lambda row: row["AWG"])
def test_it_agrees_with_the_wire_table_of_the_nec(row):
    """NEC (NFPA 70) Chapter 9 Table 8 at 75 °C (as reproduced): solid below 10 AWG, else stranded with about 2 % more
    length (the table's notes). Tolerance 0.5 % about the ratio the note gives."""
    copper = material("copper")
    solid = conductor_ohm(
        copper.resistivity_ohm_m,
        THOUSAND_FEET,
        gauge_section_m2(row["AWG"]),
        alpha_per_k=copper.alpha_per_k,
        temperature_c=D(75),
    )
    lay = 1.0 if "solid-wire value" in row["note"] else 1.02
    assert float(row["NEC_Cu_ohm_per_kft_75C"]) / float(solid) == pytest.approx(lay, rel=5e-3)


@pytest.mark.parametrize("row", AWG, ids=lambda row: row["AWG"])
def test_it_agrees_with_the_wire_table_of_the_nec_for_aluminium(row):
    """Aluminium of 61 % IACS at 75 °C; all sizes stranded (lay about 2 %), 14 and 12 solid. Tolerance 1 %."""
    metal = material("aluminium")
    solid = conductor_ohm(
        metal.resistivity_ohm_m,
        THOUSAND_FEET,
        gauge_section_m2(row["AWG"]),
        alpha_per_k=metal.alpha_per_k,
        temperature_c=D(75),
    )
    lay = 1.0 if "solid-wire value" in row["note"] else 1.02
    assert float(row["NEC_Al_ohm_per_kft_75C"]) / float(solid) == pytest.approx(lay, rel=1e-2)


@pytest.mark.parametrize("row", AWG, ids=lambda row: row["AWG"])
def test_it_converts_ohms_per_thousand_feet_to_ohms_per_kilometre(row):
    """1 kft = 0.3048 km exactly. Tolerance: the four digits printed, 0.1 % of three."""
    converted = float(row["NEC_Cu_ohm_per_kft_75C"]) / 0.3048
    assert converted == pytest.approx(float(row["NEC_Cu_ohm_per_km_75C_converted_from_kft"]), rel=2e-3)
