"""The shipped validation cases against computations that share no code with the product.

`working` against fractions and scipy (tests/published/worked_independently.py); `dates` against dateutil and the
calendar; `calculate` against the formulas written out once more with math and scipy. Tolerance: the file's own.
"""

import math
from datetime import date, datetime, timedelta
from decimal import Decimal as D
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta
from scipy import integrate, optimize, special, stats

from inspections.cases.validation import _agree, run, shipped_cases
from tests.published.worked_independently import path_alone_ohm, recompute

CASES = shipped_cases()
BY_COMMAND = {
    name: [case for case in CASES if case.command == name] for name in ("working", "dates", "calculate")
}
STATUSES = {"seen", "seen as reproduced", "from memory", "computed", "common practice"}
WORKING = [case for case in BY_COMMAND["working"] if "refused" not in case.expected]
NUMBERS = ("value_ohm", "corrected_ohm", "uncertainty_ohm", "lower_ohm", "upper_ohm")


def ids(cases):
    return [case.id for case in cases]


def test_it_has_enough_cases_of_each_command():
    assert len(BY_COMMAND["working"]) >= 60
    assert len(BY_COMMAND["dates"]) >= 45
    assert len(BY_COMMAND["calculate"]) >= 60


def test_it_says_how_sure_each_source_is():
    assert {case.status for case in CASES} <= STATUSES
    assert all(case.why for case in CASES if case.tolerance)


def test_it_passes_as_shipped():
    assert [f"{c.case.id} {c.place}: {c.expected} / {c.got}" for c in run(CASES) if not c.agrees] == []


# ------------------------------------------------------------------ working


def close(expected, found, tolerance):
    """The independent number within the file's tolerance, or to 12 digits where the file has the exact value."""
    allowed = float(tolerance.size) if tolerance else 1e-12 * abs(float(expected))
    return abs(float(expected) - float(found)) <= allowed * (1 + 1e-9) + 1e-18


@pytest.mark.parametrize("case", WORKING, ids=ids(WORKING))
def test_it_expects_of_a_reading_what_an_independent_computation_gives(case):
    found = recompute(case.input)
    assert case.expected["outcome"] == found["outcome"]
    for place in NUMBERS:
        if place in case.expected:
            wanted = case.expected[place]
            assert (wanted is None) == (found[place] is None), place
            assert wanted is None or close(wanted, found[place], case.tolerance.get(place)), place
    if "statement" in case.expected:
        assert case.expected["statement"] == found["statement"]
    state, percent, baseline = found["change"]
    assert case.expected.get("change.state", state) == state
    for place, number in (("change.percent", percent), ("change.baseline_percent", baseline)):
        if case.expected.get(place) is not None:
            assert close(case.expected[place], number, case.tolerance.get(place)), place


def questions(words, asked):
    return [
        case
        for case in WORKING
        if isinstance(case.expected.get("questions"), dict | list)
        and (words in str(case.expected["questions"])) == asked
        and case.id.startswith(("w-floor", "w-ceiling"))
    ]


def test_it_expects_the_floor_and_the_ceiling_where_the_metal_puts_them():
    for case in questions("parallel path?", asked=True):
        assert recompute(case.input)["upper_ohm"] < 0.8 * path_alone_ohm(case.input)
    for case in questions("more than twice", asked=True):
        assert recompute(case.input)["lower_ohm"] > 2 * path_alone_ohm(case.input)
    kept = [case for case in WORKING if case.id in ("w-floor-kept", "w-ceiling-kept")]
    assert len(kept) == 2
    for case in kept:
        found, alone = recompute(case.input), path_alone_ohm(case.input)
        assert found["upper_ohm"] >= 0.8 * alone and found["lower_ohm"] <= 2 * alone


def test_it_covers_every_outcome_and_every_step_of_the_chain():
    assert {case.expected["outcome"] for case in WORKING} == {
        "within limit",
        "above limit",
        "cannot be judged",
        "for information",
    }
    for step in ("text", "unit", "over", "under", "range", "calibration", "method", "current", "voltage",
                 "repeats", "plateau", "reversal", "null", "temperature", "uncertainty", "simple", "guarded",
                 "four-way", "change", "floor", "ceiling", "thousand"):  # fmt: skip
        assert [case for case in CASES if case.id.startswith(f"w-{step}")], step


# ------------------------------------------------------------------ dates

OVERDUE = [case for case in BY_COMMAND["dates"] if case.expected.get("obligations[0].days_overdue")]
ROLLING = {  # case -> visit it counts from, months
    "d-rolling": ("2026-03-31", 12), "d-rolling-leap": ("2024-02-29", 12), "d-rolling-clip": ("2026-08-31", 6),
    "d-rolling-drift": ("2021-03-26", 12), "d-rolling-early-before": ("2027-03-01", 12),
    "d-rolling-early-first": ("2027-04-01", 12), "d-rolling-due-day": ("2027-04-01", 12),
    "d-rolling-late": ("2027-04-02", 12), "d-rolling-grace-last": ("2027-04-01", 12),
    "d-rolling-grace-after": ("2027-04-16", 12), "d-zone-local": ("2026-03-31", 12),
    "d-zone-utc": ("2026-04-01", 12), "d-zone-summer": ("2027-03-28", 1), "d-zone-skipped": ("2011-12-31", 12),
    "d-anniversary-leap": ("2024-02-29", 12), "d-anniversary-leap-again": ("2024-02-29", 48),
    "d-anniversary-clip": ("2023-08-31", 12), "d-anniversary-late": ("2025-05-01", 24),
    "d-anniversary-early": ("2025-05-01", 24), "d-anniversary-too-early": ("2025-05-01", 12),
    "d-as-it-was": ("2027-05-03", 12), "d-as-known": ("2026-05-01", 12), "d-kind-first": ("2026-05-01", 12),
    "d-kind-visual": ("2026-03-31", 12), "d-kind-visual-rule": ("2026-05-01", 12),
}  # fmt: skip


@pytest.mark.parametrize("case", OVERDUE, ids=ids(OVERDUE))
def test_it_expects_the_days_overdue_that_the_calendar_gives(case):
    """The first overdue day and the day asked about both count; while suspended the count has stopped."""
    if "obligations[0].overdue_since" not in case.expected:
        due = case.expected.get("obligations[0].due", "2027-01-12")
        since = date.fromisoformat(due) + timedelta(days=1)
    else:
        since = date.fromisoformat(case.expected["obligations[0].overdue_since"])
    until = date.fromisoformat(case.input["on"])
    if case.expected.get("obligations[0].state") == "suspended":
        until = date.fromisoformat(case.input["suspensions"][0]["recorded"][:10]) - timedelta(days=1)
    assert int(case.expected["obligations[0].days_overdue"]) == (until - since).days + 1


@pytest.mark.parametrize("name", ROLLING)
def test_it_expects_the_due_day_that_dateutil_gives(name):
    start, months = ROLLING[name]
    (case,) = [case for case in CASES if case.id == name]
    expected = date.fromisoformat(start) + relativedelta(months=months)
    assert case.expected["obligations[0].due"] == expected.isoformat()


def test_it_expects_local_days_as_the_zone_database_has_them():
    for name in ("d-zone-local", "d-zone-utc", "d-zone-summer", "d-zone-skipped"):
        (case,) = [case for case in CASES if case.id == name]
        finished = datetime.fromisoformat(case.input["visits"][0]["finished"])
        local = finished.astimezone(ZoneInfo(case.input["time_zone"])).date()
        assert local.isoformat() == ROLLING[name][0]


# ------------------------------------------------------------------ calculate

CALCULATE = [case for case in BY_COMMAND["calculate"] if "refused" not in case.expected]
UNITS = {"mm²": 1e-6, "m²": 1.0, "mm": 1e-3, "km": 1e3, "ft": 0.3048}
METALS = {"copper": (1e-6 / 58, 0.00393), "aluminium": (0.028264e-6, 0.00403)}


def si(text):
    number, _, unit = text.partition(" ")
    return float(number) * UNITS.get(unit, 1.0)


def wenner(spacing, resistance, depth="0 m"):
    a, b = si(spacing), si(depth)
    divisor = 1 + 2 * a / math.sqrt(a * a + 4 * b * b) - a / math.sqrt(a * a + b * b)
    return {"resistivity": 4 * math.pi * a * si(resistance) / divisor}


def two_layer(upper, lower, thickness, spacing):
    """The Hankel integral over the two-layer kernel, by quadrature: no image series."""
    r1, r2, h, a = si(upper), si(lower), si(thickness), si(spacing)
    k = (r2 - r1) / (r2 + r1)

    def kernel(x):
        e = k * math.exp(-2 * x * h)
        return 2 * e / (1 - e) * (special.j0(x * a) - special.j0(2 * x * a))

    zeros = [n * math.pi / (2 * a) for n in range(400)]
    total = sum(integrate.quad(kernel, low, high, epsabs=1e-13)[0] for low, high in pairwise(zeros))
    return {"apparent_resistivity": r1 * (1 + 2 * a * total)}


def slope(mu):
    """A hemisphere's centre x behind the start, current probe at 1: readings at 0.2, 0.4 and 0.6 give µ.

    R(p) = R − ρ/2π [1/(p + x) + 1/(1 + x) − 1/(1 − p)]; the true R is read where the bracket is nought.
    """

    def bracket(p, x):
        return 1 / (p + x) + 1 / (1 + x) - 1 / (1 - p)

    def mu_of(x):
        return (bracket(0.6, x) - bracket(0.4, x)) / (bracket(0.4, x) - bracket(0.2, x))

    x = optimize.brentq(lambda x: mu_of(x) - float(mu), -0.15, 0.9)
    return {"ratio": optimize.brentq(lambda p: bracket(p, x), max(0.0, -x) + 1e-6, 1 - 1e-6)}


def rod(resistivity, length, diameter):
    length_m = si(length)
    return {
        "resistance": si(resistivity) / (2 * math.pi * length_m) * (math.log(8 * length_m / si(diameter)) - 1)
    }


def plate(resistivity, area):
    return {"resistance": si(resistivity) / 4 * math.sqrt(math.pi / si(area))}


def strip(resistivity, length, conductor_diameter, depth):
    half, s, a = si(length) / 2, 2 * si(depth), si(conductor_diameter) / 2
    t = s / half
    bracket = math.log(4 * half / a) + math.log(4 / t) - 2 + t / 2 - t**2 / 16 + t**4 / 512
    return {"resistance": si(resistivity) / (4 * math.pi * half) * bracket}


def ring(resistivity, ring_diameter, conductor_diameter, depth):
    wide = si(ring_diameter)
    bracket = math.log(8 * wide / si(conductor_diameter)) + math.log(2 * wide / si(depth))
    return {"resistance": si(resistivity) / (2 * math.pi**2 * wide) * bracket}


def parallel(resistances):
    return {"resistance": 1 / sum(1 / si(text) for text in resistances)}


def alpha_at(alpha, at, to):
    return {"alpha": 1 / (1 / si(alpha) + si(to) - si(at))}


def temperature_factor(material, temperature):
    return {"factor": 1 / (1 + METALS[material][1] * (si(temperature) - 20))}


def conductor(material, length, section=None, awg=None, temperature="20 degC"):
    if section is None:
        gauge = 1 - len(awg) if set(awg) == {"0"} else 1 - int(awg[0]) if "/" in awg else int(awg)
        section = f"{math.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2} mm²"
    rho, alpha = METALS[material]
    return {
        "resistance": rho * si(length) / si(section) * (1 + alpha * (si(temperature) - 20)),
    }


def combine(components):
    parts = [(float(c["standard_uncertainty"]), c["degrees_of_freedom"]) for c in components]
    u = math.hypot(*(part for part, _ in parts))
    share = sum(part**4 / float(degrees) for part, degrees in parts if degrees is not None)
    degrees = u**4 / share if share else None
    k = stats.t.ppf(0.975, degrees) if degrees else 2.0
    return {
        "standard_uncertainty": u,
        "degrees_of_freedom": degrees,
        "coverage_factor": k,
        "expanded": k * u,
    }


def conformity(value, standard_uncertainty, upper="inf", lower="-inf"):
    y, u = float(value), float(standard_uncertainty)
    return {"probability": stats.norm.cdf((float(upper) - y) / u) - stats.norm.cdf((float(lower) - y) / u)}


def drift(times, values):
    x, y = [float(t) for t in times], [float(v) for v in values]
    slope, _, low, high = stats.theilslopes(y, x, 0.95)
    n = len(x)
    found = stats.kendalltau(x, y, method="exact")
    rests = sorted(b - slope * a for a, b in zip(x, y, strict=True))
    return {
        "slope": slope, "lower": low, "upper": high, "intercept": rests[n // 2],
        "kendall_s": found.statistic * n * (n - 1) / 2, "p_two_sided": found.pvalue,
    }  # fmt: skip


def reversal(displays):
    v = [float(text) for text in displays]
    if len(v) == 2:
        return {"value": (v[0] - v[1]) / 2, "offset": (v[0] + v[1]) / 2}
    return {"value": (v[0] - 2 * v[1] + v[2]) / 4, "offset": (v[0] + 2 * v[1] + v[2]) / 4}


FORMULAS = {
    each.__name__: each
    for each in (wenner, two_layer, slope, rod, plate, strip, ring, parallel, alpha_at, temperature_factor,
                 conductor, combine, conformity, drift, reversal)
}  # fmt: skip


@pytest.mark.parametrize("case", CALCULATE, ids=ids(CALCULATE))
def test_it_expects_of_a_formula_what_an_independent_computation_gives(case):
    found = FORMULAS[case.input["name"]](**case.input["inputs"])
    for place, wanted in case.expected.items():
        mine = found[place.removeprefix("result.")]
        if wanted is None:
            assert mine is None
            continue
        unit = str(wanted).partition(" ")[2]
        digits = D(f"{mine:.12g}")
        assert _agree(wanted, f"{digits:f} {unit}".strip(), case.tolerance.get(place)), (place, wanted, mine)


def test_it_has_an_independent_computation_for_every_formula_and_a_case_of_each():
    assert {case.input["name"] for case in CALCULATE} == set(FORMULAS)
