"""Present, calibration, method and current: what stops a verdict and what does not."""

from datetime import date, datetime, timedelta, timezone
from decimal import Decimal as D

import pytest

from inspections.rules.judging import STEPS
from inspections.rules.judging.facts import ABOVE, CANNOT, INFORMATION, WITHIN
from tests.inspections.rules.judging_example import judged, text_of

HONOLULU = timezone(timedelta(hours=-10))


def test_it_is_within_the_limit_when_everything_fits():
    verdict = judged()
    assert verdict.outcome == WITHIN
    assert verdict.reason == ""
    assert verdict.statement is None
    assert verdict.questions == ()


def test_it_prints_every_step_in_the_order_of_the_chain():
    steps = list(dict.fromkeys(line.step for line in judged().lines))
    assert tuple(steps) == STEPS


def test_it_is_no_reading_when_the_display_showed_nothing():
    for text in ("--", "−−", "---"):
        verdict = judged(reading={"text": text})
        assert verdict.outcome == CANNOT
        assert verdict.value_ohm is None and verdict.corrected_ohm is None
        assert "no reading" in verdict.reason


def test_it_cannot_judge_a_missing_display_even_without_a_limit():
    assert judged(reading={"text": "--"}, limit={"limit_ohm": None}).outcome == CANNOT


@pytest.mark.parametrize(
    ("day", "outcome"),
    [
        (date(2027, 1, 9), CANNOT),
        (date(2027, 1, 10), WITHIN),
        (date(2028, 1, 9), WITHIN),
        (date(2028, 1, 10), CANNOT),
    ],
)
def test_it_takes_both_end_days_of_a_calibration_as_valid(day, outcome):
    at = datetime(day.year, day.month, day.day, 12, tzinfo=timezone.utc)  # noqa: UP017
    assert judged(reading={"at": at}).outcome == outcome


def test_it_judges_calibration_by_the_readings_own_local_day():
    """23:30 on the last day in Honolulu is already the next day in London, and still in calibration."""
    last_evening = datetime(2028, 1, 9, 23, 30, tzinfo=HONOLULU)
    assert judged(reading={"at": last_evening}).outcome == WITHIN
    assert judged(reading={"at": last_evening + timedelta(minutes=31)}).outcome == CANNOT


def test_it_still_gives_the_value_when_the_instrument_was_out_of_calibration():
    verdict = judged(instrument={"valid_until": date(2027, 5, 2)})
    assert verdict.outcome == CANNOT
    assert "out of calibration" in verdict.reason
    assert verdict.value_ohm == D("0.00500")
    assert verdict.corrected_ohm == D("0.00500")
    assert verdict.uncertainty_ohm is not None


def test_it_cannot_judge_without_a_known_calibration():
    for facts in ({"calibrated_on": None}, {"valid_until": None}):
        verdict = judged(instrument=facts)
        assert verdict.outcome == CANNOT
        assert "calibration" in verdict.reason


def test_it_cannot_judge_without_a_known_accuracy_and_gives_no_bounds():
    verdict = judged(instrument={"percent_of_reading": None})
    assert verdict.outcome == CANNOT
    assert (verdict.uncertainty_ohm, verdict.lower_ohm, verdict.upper_ohm) == (None, None, None)


def test_it_cannot_judge_a_method_the_rule_does_not_name():
    verdict = judged(reading={"method": "two-wire"})
    assert verdict.outcome == CANNOT
    assert "method" in verdict.reason


def test_it_takes_any_method_where_the_rule_names_none():
    assert judged(reading={"method": "two-wire"}, limit={"methods": ()}).outcome == WITHIN


@pytest.mark.parametrize(("current", "outcome"), [("0.99", CANNOT), ("1", WITHIN), ("1.00", WITHIN)])
def test_it_wants_at_least_the_rules_current(current, outcome):
    assert judged(reading={"current_a": D(current)}).outcome == outcome


def test_it_cannot_judge_a_current_that_was_not_recorded_where_the_rule_wants_one():
    assert judged(reading={"current_a": None}).outcome == CANNOT
    assert judged(reading={"current_a": None}, limit={"minimum_current_a": None}).outcome == WITHIN


def test_it_reports_too_little_current_over_range_and_does_not_stop():
    verdict = judged(reading={"text": "OL", "current_a": D("0.001")})
    assert verdict.outcome == ABOVE
    assert "too little" in text_of(verdict, "current")


def test_it_stops_at_too_little_current_where_the_display_is_below_a_value():
    assert judged(reading={"text": "<0.01", "current_a": D("0.001")}).outcome == CANNOT


def test_it_compares_the_open_circuit_voltage_with_the_rules_range():
    rule = {"open_circuit_voltage_v": (D(4), D(24))}
    assert judged(limit=rule, reading={"open_circuit_voltage_v": D(4)}).outcome == WITHIN
    assert judged(limit=rule, reading={"open_circuit_voltage_v": D(24)}).outcome == WITHIN
    verdict = judged(limit=rule, reading={"open_circuit_voltage_v": D("24.1")})
    assert verdict.outcome == CANNOT
    assert "voltage" in verdict.reason


def test_it_asks_for_an_open_circuit_voltage_that_is_not_recorded():
    verdict = judged(limit={"open_circuit_voltage_v": (D(4), D(24))})
    assert verdict.outcome == WITHIN
    assert any("voltage" in question for question in verdict.questions)


def test_it_is_for_information_where_no_limit_applies():
    verdict = judged(limit={"limit_ohm": None})
    assert verdict.outcome == INFORMATION
    assert verdict.limit_ohm is None
    assert verdict.corrected_ohm == D("0.00500")
    assert judged(limit={"limit_ohm": None}, reading={"text": "OL"}).outcome == INFORMATION


def test_it_lets_an_earlier_stop_stand_before_for_information():
    verdict = judged(limit={"limit_ohm": None}, reading={"method": "clamp-on"})
    assert verdict.outcome == CANNOT


def test_it_gives_the_first_of_several_reasons():
    verdict = judged(reading={"method": "two-wire", "current_a": None})
    assert "method" in verdict.reason


def test_it_names_the_rules_author_and_edition_in_the_limits_line():
    verdict = judged(limit={"label": "Harbour insurers, edition 2026"})
    assert any("Harbour insurers, edition 2026" in line.source for line in verdict.lines)
