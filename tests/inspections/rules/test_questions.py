"""A visit's questions: each says what was seen; a clean visit asks nothing, a bad one exactly what was planted.

Clean visits are drawn with a scatter of about 1 %, metal at another temperature than last time, a minute or more a
point: what an honest visit looks like. Pearson's chi-square is checked against scipy.
"""

import random
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inspections.rules.questions import DEFAULTS, Thresholds, VisitFacts, VisitReading, visit_questions

ARRIVED = datetime(2027, 5, 3, 8, 0, tzinfo=UTC)
STEP = D("0.00001")
METER = "low-resistance ohmmeter 1001"


def clean_visit(seed, points=60):
    """Down-conductors of 5 to 40 m: before and now each with its own scatter and temperature."""
    chance = random.Random(seed)
    warm = 1 + 0.00393 * chance.uniform(-25, 25)
    at, readings = ARRIVED + timedelta(minutes=10), []
    for n in range(points):
        alone = chance.uniform(5, 40) / 58 / 75 * chance.uniform(1.0, 1.5)
        now, before = (D(round(alone * t * chance.gauss(1, 0.01) / float(STEP))) * STEP for t in (warm, 1.0))
        readings.append(
            VisitReading(
                key=n,
                number=str(n + 1),
                texts=(f"{now * 1000:.2f}",),
                unit="mΩ",
                step_ohm=STEP,
                instrument=METER,
                at=at,
                entered_at=at + timedelta(seconds=20),
                value_ohm=now,
                before_ohm=before,
                corrected_ohm=now / D(str(warm)),
                uncertainty_ohm=D("0.00003"),
                before_corrected_ohm=before,
                alone_ohm=D(str(alone)),
            )
        )
        at += timedelta(seconds=chance.uniform(60, 240))
    return VisitFacts(tuple(readings), ARRIVED, at + timedelta(minutes=5))


def change(facts, places, **values):
    """The visit with some readings changed; a function is asked with each reading."""
    readings = list(facts.readings)
    for place in places:
        told = {key: value(readings[place]) if callable(value) else value for key, value in values.items()}
        readings[place] = replace(readings[place], **told)
    return replace(facts, readings=tuple(readings))


def sentences(facts, thresholds=DEFAULTS):
    return [asked.sentence.replace("\u00a0", " ") for asked in visit_questions(facts, thresholds)]


CLEAN = clean_visit(1)
ALL = range(len(CLEAN.readings))


# ------------------------------------------------------------------ clean


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.integers(0, 10**9), st.integers(1, 120))
def test_it_asks_nothing_of_a_clean_visit(seed, points):
    assert visit_questions(clean_visit(seed, points)) == []


def test_it_asks_nothing_of_a_visit_without_readings_or_without_a_history():
    assert visit_questions(VisitFacts(())) == []
    first = change(CLEAN, ALL, before_ohm=None, before_corrected_ohm=None)
    assert visit_questions(first) == []
    assert visit_questions(replace(CLEAN, arrived_at=None, left_at=None)) == []


def test_it_asks_nothing_of_coarse_readings_that_repeat_by_themselves():
    """0.03 Ω on a step of 0.01 Ω is 0.03 Ω every year."""
    coarse = change(
        CLEAN, ALL, step_ohm=D("0.01"), unit="Ω", texts=("0.03",), value_ohm=D("0.03"), before_ohm=D("0.03"),
        corrected_ohm=D("0.03"), before_corrected_ohm=D("0.03"), alone_ohm=None,
    )  # fmt: skip
    assert visit_questions(coarse) == []


# ------------------------------------------------------------------ each question at its edge


@pytest.mark.parametrize(("copied", "asks"), [(12, False), (13, True)])
def test_it_asks_about_readings_identical_to_the_last_visit(copied, asks):
    """12 of 20 are 60 %, which is not above it."""
    facts = replace(CLEAN, readings=CLEAN.readings[:20])
    apart = change(facts, range(20), value_ohm=lambda r: r.before_ohm + 7 * r.key * STEP + STEP)
    apart = change(apart, range(20), value_ohm=lambda r: max(r.value_ohm, 100 * STEP))
    found = sentences(change(apart, range(copied), value_ohm=lambda r: r.before_ohm))
    told = [text for text in found if "exactly what they showed" in text]
    assert bool(told) == asks
    if asks:
        assert re.match(r"\d+ of \d+ comparable readings .*\?$", told[0])


def test_it_needs_enough_pairs_to_ask_about_identical_readings():
    facts = replace(CLEAN, readings=tuple(r for r in CLEAN.readings if r.before_ohm > 100 * STEP)[:10])
    copied = change(facts, range(10), value_ohm=lambda r: r.before_ohm)
    assert len(sentences(copied)) == 1
    assert sentences(replace(copied, readings=copied.readings[:9])) == []


def shifted(by, count=30):
    facts = replace(CLEAN, readings=tuple(r for r in CLEAN.readings if r.before_ohm > 150 * STEP)[:count])
    return change(facts, range(len(facts.readings)), value_ohm=lambda r: r.before_ohm + by)


@pytest.mark.parametrize(("steps", "asks"), [(2, False), (3, True), (-3, True), (40, True)])
def test_it_asks_about_a_constant_shift(steps, asks):
    found = sentences(shifted(steps * STEP))
    assert bool(found) == asks
    if asks:
        assert f"{abs(steps) / 100:.2f} mΩ {'more' if steps > 0 else 'less'}" in found[0]


def test_it_takes_no_proportional_change_for_a_shift():
    facts = shifted(D(0))
    warmer = change(
        facts, range(len(facts.readings)), value_ohm=lambda r: (r.before_ohm * D("1.06")).quantize(STEP)
    )
    assert sentences(warmer) == []


def test_it_takes_equal_points_that_change_alike_for_no_shift():
    alike = change(shifted(D(0)), range(20), before_ohm=D("0.00500"), value_ohm=D("0.00512"))
    assert sentences(replace(alike, readings=alike.readings[:20])) == []


@pytest.mark.parametrize(("count", "asks"), [(10, False), (11, True)])
def test_it_asks_about_too_many_readings_in_too_few_minutes(count, asks):
    start = CLEAN.readings[0].at
    quick = replace(CLEAN, readings=CLEAN.readings[:count])
    quick = change(quick, range(count), at=lambda r: start + timedelta(seconds=29 * r.key))
    found = sentences(quick)
    assert bool(found) == asks
    if asks:
        assert found[0].startswith(f"11 readings with {METER} within 5 minutes from 08:10 on")


def test_it_counts_each_instrument_by_itself():
    start = CLEAN.readings[0].at
    quick = replace(CLEAN, readings=CLEAN.readings[:20])
    quick = change(quick, range(20), at=lambda r: start + timedelta(seconds=15 * r.key))
    assert len(sentences(quick)) == 1
    assert sentences(change(quick, range(10), instrument="another")) == []


def test_it_leaves_a_reading_at_the_end_of_the_minutes_out():
    start = CLEAN.readings[0].at
    eleven = replace(CLEAN, readings=CLEAN.readings[:11])
    assert sentences(change(eleven, range(11), at=lambda r: start + timedelta(seconds=30 * r.key))) == []


@pytest.mark.parametrize(("seconds", "asks"), [(0, False), (1, True)])
def test_it_asks_about_readings_entered_after_leaving(seconds, asks):
    late = change(CLEAN, [3], entered_at=CLEAN.left_at + timedelta(seconds=seconds))
    assert sentences(late) == (
        [f"The reading of point 4 is entered after the site was left at {CLEAN.left_at:%H:%M}: from which notes"
         " were they taken?"] if asks else []
    )  # fmt: skip


@pytest.mark.parametrize(("hours", "asks"), [(24, False), (25, True)])
def test_it_gives_a_file_of_the_days_readings_until_the_day_after(hours, asks):
    late = change(CLEAN, ALL, entered_at=CLEAN.left_at + timedelta(hours=hours), from_file=True)
    found = sentences(late)
    assert bool(found) == asks
    if asks:
        assert found[0].startswith("60 readings (points 1, 2, 3, 4, 5 and 55 more) are entered after")
        assert "on 3 May 2027, the last on 4 May 2027: from which notes" in found[0]


def test_it_asks_nothing_of_a_correction_that_has_its_own_reason():
    assert sentences(change(CLEAN, [3], entered_at=None)) == []


def test_it_asks_about_readings_timed_before_the_arrival_or_after_leaving():
    early = change(CLEAN, [0], at=ARRIVED - timedelta(minutes=1))
    late = change(CLEAN, [59], at=CLEAN.left_at + timedelta(minutes=1))
    assert "before the arrival at 08:00" in sentences(early)[0]
    assert "timed after the site was left" in sentences(late)[0]
    assert sentences(change(CLEAN, [0], at=ARRIVED)) == []


@pytest.mark.parametrize(("text", "asks"), [("5.00", False), ("5.0", False), ("5.003", True), ("OL", False)])
def test_it_asks_about_more_digits_than_the_range_shows(text, asks):
    found = visit_questions(change(CLEAN, [5], texts=("4.90", text)))
    assert [asked.key for asked in found] == ([5] if asks else [])


@pytest.mark.parametrize(
    ("ratio", "asked"),
    [
        ("99", ""), ("100", "unit and decimal point"), ("299", "unit and decimal point"), ("300", "same unit?"),
        ("1000", "same unit?"), ("3000", "same unit?"), ("3001", "unit and decimal point"),
        ("0.01", "unit and decimal point"), ("0.001", "same unit?"),
    ],
)  # fmt: skip
def test_it_asks_about_a_factor_of_a_hundred_and_of_a_thousand_for_the_unit_first(ratio, asked):
    before = D("0.00500")
    odd = change(CLEAN, [5], before_corrected_ohm=before, corrected_ohm=before * D(ratio), alone_ohm=None)
    told = [words for words in ("same unit?", "unit and decimal point") if words in " ".join(sentences(odd))]
    assert told == ([asked] if asked else [])


def test_it_asks_about_values_below_the_floor_and_above_the_ceiling():
    """Alone 10 mΩ: floor 8 mΩ, ceiling 20 mΩ, with U = 0.1 mΩ."""
    base = {"alone_ohm": D("0.010"), "uncertainty_ohm": D("0.0001"), "before_corrected_ohm": None}

    def asked(text, **more):
        return sentences(change(CLEAN, [5], corrected_ohm=D(text), **base, **more))

    assert asked("0.0079") == [] and asked("0.0201") == []
    assert "parallel path?" in asked("0.00789")[0]
    assert asked("0.00789", parallel_paths=True) == []
    assert "more than twice" in asked("0.02011")[0]


# ------------------------------------------------------------------ last digits


def with_digits(digits):
    """One reading for each digit, each in a ten of steps of its own, all different from the last visit."""
    readings = [
        replace(
            CLEAN.readings[n % 60],
            key=n,
            at=ARRIVED + timedelta(minutes=n),
            entered_at=None,
            value_ohm=D(1000 + 10 * n + digit) * STEP,
            before_ohm=None,
            before_corrected_ohm=None,
            alone_ohm=None,
        )
        for n, digit in enumerate(digits)
    ]
    return VisitFacts(tuple(readings), ARRIVED, ARRIVED + timedelta(hours=9))


@pytest.mark.parametrize("weight", [10, 15, 19, 20, 21, 25, 40])
def test_it_asks_about_last_digits_by_pearsons_chi_square(weight):
    """Against scipy: asked exactly where p is below one in a million."""
    digits = [0] * weight + [5] * weight + [n % 10 for n in range(50)]
    counts = [digits.count(digit) for digit in range(10)]
    square, p = stats.chisquare(counts)
    found = sentences(with_digits(digits))
    assert bool(found) == (p < 1e-6)
    if found:
        assert f"chi-square {square:.4g}" in found[0]


def test_it_has_the_chi_square_that_chance_passes_once_in_a_million():
    assert float(DEFAULTS.digits_chi_square) == pytest.approx(stats.chi2.isf(1e-6, 9), abs=0.005)


def test_it_asks_nothing_about_the_digits_of_few_readings_or_of_readings_close_together():
    assert sentences(with_digits([0] * 49)) == []
    assert len(sentences(with_digits([0] * 50))) == 1
    close = with_digits([0] * 60)
    assert sentences(change(close, range(60), value_ohm=lambda r: D(1000 + 10 * (r.key % 20)) * STEP)) == []


def test_it_asks_nothing_about_the_digits_of_a_display_that_counts_in_twos():
    twos = change(with_digits([0] * 60), range(60), step_ohm=STEP * 2)
    assert sentences(twos) == []


# ------------------------------------------------------------------ a bad visit


def test_it_asks_of_a_bad_visit_exactly_what_was_planted():
    start = CLEAN.readings[0].at
    bad = change(CLEAN, range(60), value_ohm=lambda r: r.before_ohm)
    bad = change(bad, range(20, 40), at=lambda r: start + timedelta(seconds=r.key))
    bad = change(bad, [1, 2], entered_at=CLEAN.left_at + timedelta(hours=3))
    bad = change(bad, [0], at=ARRIVED - timedelta(minutes=5))
    bad = change(bad, [7], texts=("5.1234",))
    bad = change(bad, [8], corrected_ohm=lambda r: r.before_corrected_ohm * 1000, alone_ohm=None)
    bad = change(bad, [9], corrected_ohm=lambda r: r.alone_ohm / 10)
    bad = change(bad, [10], corrected_ohm=lambda r: r.alone_ohm * 5)
    expected = [
        (None, "exactly what they showed"),
        (None, "within 5 minutes"),
        (None, "entered after the site was left"),
        (None, "timed before the arrival"),
        (7, "more digits than the range shows"),
        (8, "same unit?"),
        (9, "parallel path?"),
        (10, "joint between?"),
    ]
    found = visit_questions(bad)
    assert [asked.key for asked in found] == [key for key, _ in expected]
    for asked, (_, words) in zip(found, expected, strict=True):
        assert words in asked.sentence.replace("\u00a0", " ")
        assert asked.sentence.endswith("?")


def test_it_follows_thresholds_of_ones_own_and_says_what_stands_behind_the_defaults():
    quick = replace(CLEAN, readings=CLEAN.readings[:3])
    assert sentences(quick) == []
    assert sentences(quick, Thresholds(crowded_readings=1, crowded_minutes=60))
    assert DEFAULTS.status == "common practice, no published source"


def test_it_accuses_nobody():
    words = " ".join(sentences(change(CLEAN, ALL, value_ohm=lambda r: r.before_ohm)))
    for word in ("copied", "invented", "false", "fraud", "wrong", "fault"):
        assert word not in words
