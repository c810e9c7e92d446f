"""Plausibility: questions, never an outcome. 15 m of 75 mm² copper alone is 1/58 · 15/75 = 3.4483 mΩ at 20 °C."""

from datetime import date
from decimal import Decimal as D

import pytest

from inspections.materials import material
from inspections.rules.judging import EarlierReading
from inspections.rules.judging.facts import WITHIN
from tests.inspections.rules.judging_example import earth_judged, judged

PLATEAU = {"positions": ((D(52), "57.4"), (D(62), "57.5"), (D(72), "57.7"))}
ONE_DIGIT = {"percent_of_reading": D(0), "digits": D(1)}


def asked(words, **facts):
    return any(words in question for question in judged(**facts).questions)


@pytest.mark.parametrize(("text", "asks"), [("2.74", True), ("2.75", False), ("0.40", True), ("5.00", False)])
def test_it_asks_for_a_parallel_path_below_the_floor(text, asks):
    """0.8 · 3.4483 = 2.7586; the upper bound is the value + 0.0129 mΩ: 2.7529 lies below, 2.7629 does not."""
    assert asked("parallel path?", reading={"text": text}, instrument=ONE_DIGIT) == asks


@pytest.mark.parametrize(("recorded", "asks"), [(True, False), (False, True), (None, True)])
def test_it_asks_only_where_no_parallel_path_is_recorded(recorded, asks):
    assert asked("parallel path?", reading={"text": "0.40"}, point={"parallel_paths": recorded}) == asks


def test_it_puts_the_floor_at_the_metals_own_temperature():
    """At 60 °C the floor is 2.7586 · 1.1572 = 3.1923 mΩ as found, also where the limit holds as found."""
    hot = {"temperature_c": D(60), "text": "3.17"}
    cool = {"temperature_c": D(20), "text": "3.17"}
    for reference in (D(20), None):
        rule = {"reference_temperature_c": reference}
        assert asked("parallel path?", reading=hot, instrument=ONE_DIGIT, limit=rule)
        assert not asked("parallel path?", reading=cool, instrument=ONE_DIGIT, limit=rule)


@pytest.mark.parametrize(("text", "asks"), [("6.90", False), ("6.92", True)])
def test_it_asks_above_twice_what_the_conductor_alone_would_be(text, asks):
    """2 · 3.4483 = 6.8966; the lower bound is the value − 0.0129 mΩ."""
    assert bool(judged(reading={"text": text}, instrument=ONE_DIGIT).questions) == asks


def test_it_finds_a_sixty_metre_down_conductor_too_good_to_be_true():
    """60 m of 25 × 3 mm copper tape is 13.8 mΩ; 0.40 mΩ top to bottom is another path."""
    verdict = judged(point={"length_m": D(60), "quantity": "continuity"}, reading={"text": "0.40"})
    assert any("parallel path?" in question for question in verdict.questions)
    assert verdict.outcome == WITHIN


def test_it_asks_nothing_without_length_section_or_metal():
    for missing in ({"length_m": None}, {"section_m2": None}, {"material": None}):
        assert judged(point=missing, reading={"text": "0.40"}).questions == ()


def test_it_holds_no_metal_floor_against_soil():
    verdict = earth_judged(
        point={"material": material("copper"), "length_m": D(3), "section_m2": D("0.000075")},
        reading=PLATEAU,
    )
    assert verdict.questions == ()


@pytest.mark.parametrize(
    ("before", "asks"),
    [
        ("0.005", True),
        ("0.0166", True),
        ("0.0167", False),
        ("0.00167", True),
        ("0.00166", False),
        ("1500", True),
        ("1499", False),
        ("15000", True),
        ("15001", False),
        ("5", False),
    ],
)
def test_it_asks_for_the_unit_at_a_factor_between_300_and_3000(before, asks):
    """5.00 mΩ against the earlier reading in mΩ; both ends of the band belong to it."""
    history = (EarlierReading(date(2026, 5, 2), D(before) / 1000, None, "four-wire", False),)
    assert asked("same unit?", history=history) == asks


@pytest.mark.parametrize(
    ("before", "asks"),
    [("0.5", True), ("0.499", False), ("0.0501", False), ("1.4", True), ("15.001", True), ("5000", True),
     ("0.00005", True), ("0.0000501", False)],
)  # fmt: skip
def test_it_asks_about_any_step_of_a_hundred_times(before, asks):
    """5.00 mΩ against the last like reading in ohms; from 300 to 3000 times it asks for the unit alone."""
    history = (EarlierReading(date(2026, 5, 2), D(before), None, "four-wire", False),)
    assert asked("unit and decimal point", history=history) == asks


def test_it_asks_about_a_unit_left_at_micro():
    """6.66 typed with the unit at µΩ where 7.54 Ω was read before."""
    before = (EarlierReading(date(2026, 5, 2), D("7.54"), None, "four-wire", False),)
    micro = {"text": "6.66", "unit": "µΩ", "step_ohm": D("0.00000001"), "range_top_ohm": D("0.000025")}
    assert asked("are unit and decimal point those of the display?", reading=micro, history=before)


@pytest.mark.parametrize(
    ("before", "asks"), [("7.54", True), ("0.0301", True), ("0.02", False), ("0", False)]
)
def test_it_asks_about_a_zero_where_the_range_could_have_shown_the_last_value(before, asks):
    """On a 0.01 Ω step, ± (0.5 % + 2 digits), 0.02 Ω cannot be told from nothing."""
    coarse = {"text": "0.00", "unit": "ohm", "step_ohm": D("0.01"), "range_top_ohm": D(20)}
    history = (EarlierReading(date(2026, 5, 2), D(before), None, "four-wire", False),)
    assert asked("The value is zero", reading=coarse, history=history) == asks


@pytest.mark.parametrize(("text", "asks"), [("<0.01", True), ("<0.10", False)])
def test_it_asks_about_less_than_a_hundredth(text, asks):
    ohms = {"text": text, "unit": "ohm", "step_ohm": D("0.01"), "range_top_ohm": D(20)}
    history = (EarlierReading(date(2026, 5, 2), D("7.54"), None, "four-wire", False),)
    assert asked("less than a hundredth", reading=ohms, history=history) == asks


def test_it_asks_for_the_unit_against_the_last_like_reading_only():
    history = (
        EarlierReading(date(2026, 5, 2), D("0.005"), None, "four-wire", False),
        EarlierReading(date(2026, 9, 2), D(5), None, "two-wire", False),
    )
    assert not asked("same unit?", history=history)


def test_it_asks_nothing_of_a_clean_reading():
    assert judged().questions == ()
    assert earth_judged(reading=PLATEAU).questions == ()
