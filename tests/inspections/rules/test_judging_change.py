"""Change: like for like, apart from the outcome."""

import math
from datetime import date
from decimal import Decimal as D

import pytest

from inspections.rules.judging import EarlierReading
from tests.inspections.rules.judging_example import judged

BEFORE = date(2026, 5, 2)


def earlier(mohm, *, on=BEFORE, u=None, method="four-wire", baseline=False):
    uncertainty = None if u is None else D(u) / 1000
    return EarlierReading(on, D(mohm) / 1000, uncertainty, method, baseline)


def change(*history, **facts):
    return judged(history=history, **facts).change


def test_it_is_a_first_reading_without_history():
    assert change().state == "first reading"
    assert change().percent is None


def test_it_is_not_comparable_with_unlike_readings_only():
    found = change(earlier("4.60", method="two-wire", baseline=True))
    assert (found.state, found.percent, found.baseline_percent) == ("not comparable", None, None)


@pytest.mark.parametrize(
    ("before", "state"), [("4.92", "risen"), ("4.93", "steady"), ("5.07", "steady"), ("5.08", "fallen")]
)
def test_it_is_steady_within_both_uncertainties(before, state):
    """U = 2 √(0.045²/3 + 0.01²/12) = 0.05228 mΩ; √2 · U = 0.07394 mΩ about 5.00 mΩ."""
    assert change(earlier(before)).state == state


def test_it_is_steady_at_the_very_edge():
    """Δ = 0.05 mΩ exactly against U₁ = 0 … only an earlier U of its own makes the edge exact."""
    exact = {"percent_of_reading": D(0), "digits": D(0)}
    own = 0.01 / math.sqrt(12) * 2
    edge = math.sqrt(0.05**2 - own**2)
    assert change(earlier("4.95", u=f"{edge + 1e-9:.12f}"), instrument=exact).state == "steady"
    assert change(earlier("4.95", u=f"{edge - 1e-9:.12f}"), instrument=exact).state == "risen"


def test_it_uses_the_earlier_readings_own_uncertainty():
    assert change(earlier("4.80")).state == "risen"
    assert change(earlier("4.80", u="0.30")).state == "steady"


def test_it_gives_signed_percent_of_the_earlier_reading():
    """(5.00 − 4.60) / 4.60 = +8.6957 %, (5.00 − 6.25) / 6.25 = −20 %."""
    assert round(change(earlier("4.60")).percent, 4) == D("8.6957")
    fallen = change(earlier("6.25"))
    assert (fallen.state, fallen.percent) == ("fallen", D(-20))


def test_it_takes_the_last_like_reading_in_any_order_of_the_history():
    found = change(
        earlier("4.00", on=date(2025, 5, 2)),
        earlier("6.25", on=date(2026, 11, 2)),
        earlier("4.60", on=date(2026, 5, 2)),
        earlier("1.00", on=date(2027, 1, 2), method="two-wire"),
    )
    assert found.percent == D(-20)


def test_it_puts_the_baseline_beside_the_last_reading():
    found = change(earlier("4.00", on=date(2021, 5, 2), baseline=True), earlier("5.00"))
    assert (found.state, found.percent, found.baseline_percent) == ("steady", D(0), D(25))


def test_it_compares_with_the_last_baseline_after_a_re_base():
    found = change(
        earlier("4.00", on=date(2021, 5, 2), baseline=True),
        earlier("2.50", on=date(2024, 5, 2), baseline=True),
    )
    assert found.baseline_percent == D(100)


def test_it_compares_with_a_baseline_of_the_same_method_only():
    found = change(earlier("4.00", on=date(2021, 5, 2), baseline=True, method="two-wire"), earlier("4.60"))
    assert found.baseline_percent is None


def test_it_leaves_out_what_came_after_the_reading():
    assert change(earlier("1.00", on=date(2027, 5, 4))).state == "first reading"
    assert change(earlier("5.00", on=date(2027, 5, 3))).state == "steady"


def test_it_compares_the_corrected_value():
    found = change(earlier("5.00"), reading={"temperature_c": D(35)})
    assert found.state == "fallen"
    assert float(found.percent) == pytest.approx(100 / 1.05895 - 100, rel=1e-9)


def test_it_has_nothing_to_compare_without_a_value():
    assert change(earlier("5.00"), reading={"text": "OL"}).state == "not comparable"
    assert change(reading={"text": "OL"}).state == "first reading"


def test_it_does_not_divide_by_an_earlier_zero():
    found = change(earlier("0"))
    assert (found.state, found.percent) == ("risen", None)


def test_it_never_changes_the_outcome():
    doubled = judged(history=(earlier("2.50"),))
    assert doubled.change.percent == D(100)
    assert doubled.outcome == judged().outcome


def test_it_still_compares_where_the_outcome_cannot_be_judged():
    assert change(earlier("4.60"), reading={"method": "four-wire", "current_a": None}).state == "risen"
