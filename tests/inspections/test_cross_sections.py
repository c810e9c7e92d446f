"""Least sections as data: every row has its source, and the check asks rather than finds."""

import csv
import doctest
from decimal import Decimal as D

import pytest

from inspections import cross_sections
from inspections.cross_sections import (
    CROSS_SECTIONS_FILE,
    least_section,
    least_sections,
    section_question,
)

SQUARE_MILLIMETRE = D("0.000001")


def test_it_runs_its_examples():
    assert doctest.testmod(cross_sections).failed == 0


def test_it_names_source_and_status_in_every_row():
    with CROSS_SECTIONS_FILE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(least_sections()) > 40
    for row in rows:
        assert row["status"] == "from memory"
        assert row["source"].startswith("IEC 62305-3:2010")
        assert "Table" not in row["source"], "a number that was not seen is not shown"
        assert "check against your adopted edition" in row["note"]
        assert row["least_area_mm2"] or row["least_dimension_mm"]


def test_it_has_each_use_metal_and_shape_once():
    keys = [(row.use, row.metal, row.shape) for row in least_sections()]
    assert len(set(keys)) == len(keys)


@pytest.mark.parametrize(
    ("use", "metal", "shape", "area"),
    [
        ("down-conductor", "copper", "tape", 50),
        ("down-conductor", "aluminium", "tape", 70),
        ("air-termination", "stainless steel", "stranded", 70),
        ("earth rod", "copper", "round", 176),
        ("horizontal earth electrode", "galvanised steel", "tape", 90),
        ("bond between bonding bars or to earth", "aluminium", "stranded", 25),
        ("bond of internal metal to a bonding bar", "copper", "tape", 6),
    ],
)
def test_it_asks_below_the_least_section_and_not_at_it(use, metal, shape, area):
    """IEC 62305-3:2010 (from memory)."""
    assert least_section(use, metal, shape).least_m2 == area * SQUARE_MILLIMETRE
    assert section_question(use, metal, shape, area * SQUARE_MILLIMETRE) is None
    asked = section_question(use, metal, shape, (area - 1) * SQUARE_MILLIMETRE)
    assert asked.startswith(f"{area - 1}\u00a0mm² of {metal}")
    assert f"asks for {area}\u00a0mm²" in asked
    assert "from memory" in asked and "Check against your adopted edition" in asked


def test_it_asks_nothing_where_the_table_says_nothing():
    assert least_section("down-conductor", "gold", "tape") is None
    assert section_question("down-conductor", "gold", "tape", SQUARE_MILLIMETRE) is None
    assert section_question("earth rod", "galvanised steel", "round", SQUARE_MILLIMETRE) is None
    assert least_section("earth rod", "galvanised steel", "round").least_dimension_m == D("0.014")
