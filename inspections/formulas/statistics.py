"""Uncertainty, conformity, drift and reversal as formulas with their working."""

from decimal import Decimal

from inspections.calculations import conformity, reversal, trend, uncertainty
from inspections.calculations.printing import NBSP
from inspections.formulas.facts import (
    COMPONENTS,
    NUMBER,
    NUMBERS,
    Formula,
    Input,
    Number,
    Worked,
    shown,
    signed,
)

SHOWN_AT_MOST = 12
REVERSAL_VALIDITY = (
    "Two displays, or three in the order forward, reversed, forward again, in one unit, with their signs; the"
    " offset steady between two, drifting evenly over three."
)


def _combine(components: list[tuple[Decimal, Decimal | None]]) -> Worked:
    found = uncertainty.combine(components)
    squares = " + ".join(f"{shown(part)}²" for part, _ in components[:SHOWN_AT_MOST])
    more = f" + … ({len(components)} in all)" if len(components) > SHOWN_AT_MOST else ""
    lines = [f"u = √({squares}{more}) = {shown(found.standard)}"]
    if found.degrees is None:
        lines.append("No component has degrees of freedom: k = 2")
    else:
        scatter = [(part, degrees) for part, degrees in components if degrees is not None]
        share = " + ".join(f"{shown(part)}⁴/{shown(degrees)}" for part, degrees in scatter[:SHOWN_AT_MOST])
        more = " + …" if len(scatter) > SHOWN_AT_MOST else ""
        lines += [
            f"ν = {shown(found.standard)}⁴/({share}{more}) = {shown(found.degrees)}",
            f"k = t for 95{NBSP}% at {shown(found.degrees)} degrees of freedom = {shown(found.factor)}",
        ]
    lines.append(f"U = k · u = {shown(found.factor)} × {shown(found.standard)} = {shown(found.expanded)}")
    result: dict[str, Number | None] = {
        "standard_uncertainty": found.standard,
        "degrees_of_freedom": found.degrees,
        "coverage_factor": found.factor,
        "expanded": found.expanded,
    }
    return Worked(result, tuple(lines))


def _conformity(
    value: Decimal, standard_uncertainty: Decimal, upper: Decimal | None, lower: Decimal | None
) -> Worked:
    y, u = float(value), float(standard_uncertainty)
    found = conformity.conformity_probability(
        y, u, lower=None if lower is None else float(lower), upper=None if upper is None else float(upper)
    )
    lines, shares = [], []
    for limit in (upper, lower):
        if limit is None:
            continue
        z = (float(limit) - y) / u
        lines.append(
            f"z = ({shown(limit)} − {signed(value)})/{shown(standard_uncertainty)} = {shown(z)};"
            f" Φ(z) = {shown(conformity.normal_below(z))}"
        )
        shares.append(conformity.normal_below(z))
    if upper is None:
        lines.append(f"p = 1 − {shown(shares[0])} = {shown(found)}")
    elif lower is None:
        lines.append(f"p = {shown(found)}")
    else:
        lines.append(f"p = {shown(shares[0])} − {shown(shares[1])} = {shown(found)}")
    return Worked({"probability": found}, tuple(lines))


def _drift(times: list[Decimal], values: list[Decimal]) -> Worked:
    found = trend.drift(times, values)
    n = len(times)
    slopes = len(trend.pairwise_slopes(times, values))
    exact = trend.is_exact(times, values)
    how = f"exact over all orders of {n} values" if exact else "normal, with ties and continuity"
    held = (
        f"95{NBSP}%"
        if found.coverage == 0.95
        else f"the widest there is, {shown(found.coverage * 100)}{NBSP}%"
    )
    lines = (
        f"Slope: median of the {slopes} slopes between two of {n} values = {shown(found.slope)}",
        f"Interval ({held}): {shown(found.lower)} to {shown(found.upper)}",
        f"Intercept: median of y − {signed(found.slope)} · x = {shown(found.intercept)}",
        f"S = {shown(found.kendall_s)}; two-sided p = {shown(found.p_two_sided)} ({how})",
    )
    result: dict[str, Number | None] = {
        "slope": found.slope,
        "lower": found.lower,
        "upper": found.upper,
        "intercept": found.intercept,
        "kendall_s": found.kendall_s,
        "p_two_sided": found.p_two_sided,
    }
    return Worked(result, lines)


def _reversal(displays: list[Decimal]) -> Worked:
    if len(displays) == 2:
        first, turned = displays
        found = reversal.reverse(first, turned)
        lines = [
            f"value = (R₊ − R₋)/2 = ({shown(first)} − {signed(turned)})/2 = {shown(found.value)}",
            f"offset = (R₊ + R₋)/2 = ({shown(first)} + {signed(turned)})/2 = {shown(found.offset)}",
        ]
    elif len(displays) == 3:
        first, turned, again = displays
        found = reversal.reverse_three(first, turned, again)
        sum_text = f"{shown(first)} {{}} 2 × {signed(turned)} + {signed(again)}"
        lines = [
            f"value = (R₁ − 2 R₂ + R₃)/4 = ({sum_text.format('−')})/4 = {shown(found.value)}",
            f"offset = (R₁ + 2 R₂ + R₃)/4 = ({sum_text.format('+')})/4 = {shown(found.offset)}",
        ]
    else:
        raise ValueError(
            "Give two displays, forward and reversed, or three: forward, reversed, forward again."
        )
    if reversal.keeps_no_sign(first, turned):
        lines.append("Both directions show the same sign: does the display keep the sign?")
    return Worked({"value": found.value, "offset": found.offset}, tuple(lines))


STATISTICS = (
    Formula(
        "combine",
        "Combined and expanded uncertainty",
        (Input("components", COMPONENTS, "Standard uncertainties with their degrees of freedom"),),
        {
            "standard_uncertainty": NUMBER,
            "degrees_of_freedom": NUMBER,
            "coverage_factor": NUMBER,
            "expanded": NUMBER,
        },
        _combine,
        uncertainty.COMBINE_SOURCE,
        uncertainty.COMBINE_VALIDITY,
    ),
    Formula(
        "conformity",
        "Probability of conformity",
        (
            Input("value", NUMBER, "Value measured"),
            Input("standard_uncertainty", NUMBER, "Standard uncertainty"),
            Input("upper", NUMBER, "Upper limit", optional=True),
            Input("lower", NUMBER, "Lower limit", optional=True),
        ),
        {"probability": NUMBER},
        _conformity,
        conformity.CONFORMITY_SOURCE,
        conformity.CONFORMITY_VALIDITY,
    ),
    Formula(
        "drift",
        "Drift over time",
        (Input("times", NUMBERS, "Times"), Input("values", NUMBERS, "Values")),
        {
            "slope": NUMBER,
            "lower": NUMBER,
            "upper": NUMBER,
            "intercept": NUMBER,
            "kendall_s": NUMBER,
            "p_two_sided": NUMBER,
        },
        _drift,
        trend.DRIFT_SOURCE,
        trend.DRIFT_VALIDITY,
    ),
    Formula(
        "reversal",
        "Reversed current",
        (Input("displays", NUMBERS, "Displays, with their signs"),),
        {"value": NUMBER, "offset": NUMBER},
        _reversal,
        reversal.SOURCE,
        REVERSAL_VALIDITY,
    ),
)
