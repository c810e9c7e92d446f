"""The materials table: readable, sourced, exact."""

from decimal import Decimal as D

import pytest

from inspections.materials import UnknownMaterial, material, material_names, material_rows


def test_it_gives_copper_and_aluminium_as_the_case_format_does():
    copper, aluminium = material("copper"), material("Aluminium ")
    assert copper.resistivity_ohm_m * 58 == pytest.approx(D("0.000001"), abs=D("1e-30"))
    assert (copper.alpha_per_k, copper.alpha_at_c) == (D("0.00393"), D(20))
    assert (aluminium.resistivity_ohm_m, aluminium.alpha_per_k) == (D("0.028264E-6"), D("0.00403"))


def test_it_has_no_default_coefficient_for_steel():
    for name in ("steel", "galvanised steel", "carbon steel 1010", "stainless steel 304"):
        assert material(name).alpha_per_k is None


def test_it_lists_the_names_it_knows_when_it_knows_none():
    with pytest.raises(UnknownMaterial, match="copper"):
        material("unobtainium")


def test_it_gives_every_material_a_source_a_status_and_the_words_to_check():
    statuses = {"seen", "seen as reproduced", "from memory", "computed", "common practice"}
    for row in material_rows():
        assert row["source"] and row["status"] in statuses
        assert "check against your adopted edition" in row["note"]


def test_it_shows_no_table_or_clause_number_that_was_not_seen():
    for row in material_rows():
        if row["status"] == "from memory":
            assert "Table" not in row["source"] and "Annex" not in row["source"]


def test_it_reads_every_row():
    assert len(material_names()) == len(material_rows()) == len(set(material_names()))
    for name in material_names():
        resistivity = material(name).resistivity_ohm_m
        assert resistivity is None or D("1e-8") < resistivity < D("1e-6")
