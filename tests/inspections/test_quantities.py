"""The edge: what people write becomes exact SI, or a sentence. pint gives the second opinion."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections import quantities
from inspections.calculations import units
from inspections.quantities import (
    QuantityError,
    as_pint,
    format_resistance,
    from_pint,
    parse_number,
    parse_quantity,
    parse_unit,
    registry,
)


@pytest.mark.parametrize("dimension", quantities.DIMENSIONS)
def test_it_agrees_with_pint_on_every_unit_in_the_list(dimension):
    ureg = registry()
    si = ureg.parse_units(quantities.PINT_UNITS[quantities.SI_UNITS[dimension]])
    for unit, factor in units.PREFERRED[dimension].items():
        one = ureg.Quantity(D(1), ureg.parse_units(quantities.PINT_UNITS[unit]))
        assert float(one.to(si).magnitude) == pytest.approx(float(factor), rel=1e-15), unit


def test_it_knows_a_pint_name_for_every_unit():
    listed = {unit for table in units.PREFERRED.values() for unit in table}
    assert listed == set(quantities.PINT_UNITS)


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("0.2 ohm", "resistance", "0.2"),
        ("5.00 mohm", "resistance", "0.005"),
        ("5.00mΩ", "resistance", "0.005"),
        ("12 µΩ", "resistance", "0.000012"),
        ("12 \u03bc\u2126", "resistance", "0.000012"),
        ("12 uohm", "resistance", "0.000012"),
        ("1,5 kΩ", "resistance", "1500"),
        ("2 MΩ", "resistance", "2000000"),
        ("5\u00a0mΩ", "resistance", "0.005"),
        ("35 degC", "temperature", "35"),
        ("\u22125.5 °C", "temperature", "-5.5"),
        ("1 K", "temperature difference", "1"),
        ("60 m", "length", "60"),
        ("10 ft", "length", "3.048"),
        ("75 mm²", "area", "0.000075"),
        ("75 mm2", "area", "0.000075"),
        ("10 A", "current", "10"),
        ("200 mA", "current", "0.2"),
        ("24 V", "voltage", "24"),
        ("0.00427 / K", "temperature coefficient", "0.00427"),
        ("0.00393 1/K", "temperature coefficient", "0.00393"),
        ("0.00391/K", "temperature coefficient", "0.00391"),
        ("100 ohm*m", "resistivity", "100"),
        ("0.017241 ohm mm²/m", "resistivity", "0.000000017241"),
        ("5 %", "percent", "5"),
        ("2 min", "time", "120"),
    ],
)
def test_it_reads_a_number_with_its_unit_exactly(text, dimension, si):
    assert parse_quantity(text, dimension) == D(si)


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("10", "current"),
        ("", "resistance"),
        ("mohm", "resistance"),
        ("20 mV", "resistance"),
        ("1 234,5 Ω", "resistance"),
        ("1,234.5 Ω", "resistance"),
        ("1,234,567 m", "length"),
        ("<0.1 mΩ", "resistance"),
        ("1.2.3 m", "length"),
        ("0.2 R", "resistance"),
        ("21 C", "temperature"),
        ("294 K", "temperature"),
        ("1 degC", "temperature difference"),
        ("9**9**9 m", "length"),
        ("1e3 ohm", "resistance"),
        ("10 MA", "current"),
        ("5 MOHM", "resistance"),
        ("5 M", "length"),
        ("nan ohm", "resistance"),
        ("inf ohm", "resistance"),
        ("5 mohm mohm", "resistance"),
        ("٥ ohm", "resistance"),
        ("1" * 19 + " ohm", "resistance"),
    ],
)
def test_it_refuses_what_it_would_have_to_guess(text, dimension):
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, dimension)
    assert str(caught.value).endswith(".")


def test_it_says_what_to_write_when_the_unit_is_missing():
    with pytest.raises(QuantityError, match=r"^10 has no unit\. Write 10 A or 10 mA\.$"):
        parse_quantity("10", "current")


def test_it_says_that_capitals_count_where_only_they_differ():
    with pytest.raises(QuantityError, match="capitals count"):
        parse_quantity("10 MA", "current")


def test_it_prints_one_spelling_of_ohm_and_of_micro():
    for text in ("uohm", "µohm", "\u03bcohm", "\u00b5\u2126", "\u03bc\u03a9"):
        assert parse_unit(text, "resistance") == "\u00b5\u03a9"


def test_it_keeps_milli_and_mega_apart():
    assert parse_quantity("1 MΩ", "resistance") / parse_quantity("1 mΩ", "resistance") == D(10) ** 9


def test_it_reads_a_plain_number_by_the_displays_rules():
    assert parse_number("0,5") == D("0.5")
    with pytest.raises(QuantityError, match="point and a comma"):
        parse_number("1,000.5")


@pytest.mark.parametrize(
    ("ohm", "unit", "significant", "shown"),
    [
        ("0.0047217", None, 3, "4.72\u00a0mΩ"),
        ("0.00500", None, None, "5.00\u00a0mΩ"),
        ("0.000012", None, None, "12\u00a0µΩ"),
        ("0.999", None, None, "999\u00a0mΩ"),
        ("1", None, None, "1\u00a0Ω"),
        ("57.5", None, None, "57.5\u00a0Ω"),
        ("1500", None, None, "1.5\u00a0kΩ"),
        ("2000000", None, None, "2\u00a0MΩ"),
        ("0", None, None, "0\u00a0Ω"),
        ("-0.00002", None, None, "\u221220\u00a0µΩ"),
        ("0.0047217", "ohm", None, "0.0047217\u00a0Ω"),
        ("0.02", "mohm", None, "20\u00a0mΩ"),
    ],
)
def test_it_prints_resistances_as_people_read_them(ohm, unit, significant, shown):
    assert format_resistance(D(ohm), unit, significant) == shown


def test_it_hands_quantities_to_pint_and_takes_them_back_exactly():
    quantity = as_pint("4.72 mohm", "resistance")
    assert from_pint(quantity, "resistance") == D("0.00472")
    assert from_pint(registry().Quantity(D("35"), "degC"), "temperature") == D(35)
    with pytest.raises(QuantityError, match="not a resistance"):
        from_pint(registry().Quantity(D(1), "meter"), "resistance")
    with pytest.raises(QuantityError, match="binary"):
        from_pint(registry().Quantity(0.1, "ohm"), "resistance")


@given(
    st.integers(-(10**12), 10**12),
    st.integers(0, 6),
    st.sampled_from(sorted(units.SPELLINGS["resistance"])),
)
def test_it_round_trips_every_spelling_exactly(number, places, unit):
    text = f"{D(number).scaleb(-places):f}"
    assert parse_quantity(f"{text} {unit}", "resistance") / units.factor_to_si(unit, "resistance") == D(text)
