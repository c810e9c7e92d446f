"""The uncertainty budget of a verdict as a table that a person can check with a pocket calculator."""

from dataclasses import dataclass
from decimal import Decimal

from inspections.calculations import units
from inspections.calculations.printing import plain
from inspections.rules.judging import Component, Verdict

NEARLY = 0.00005
INFINITE = "infinitely many"


@dataclass(frozen=True, slots=True)
class BudgetRow:
    """One part of the uncertainty, in words and figures. share: of u², in percent"""

    name: str
    width: str
    distribution: str
    divisor: str
    sensitivity: str
    standard: str
    share: str
    degrees: str


@dataclass(frozen=True, slots=True)
class Budget:
    """All parts, and what they come to. unit: of widths and uncertainties"""

    unit: str
    rows: list[BudgetRow]
    standard: str
    coverage: str
    degrees: str
    expanded: str


def budget(verdict: Verdict, unit: str) -> Budget | None:
    """The budget in a unit of resistance; None where no uncertainty could be given."""
    standard, expanded, coverage = (
        verdict.standard_uncertainty_ohm,
        verdict.uncertainty_ohm,
        verdict.coverage_factor,
    )
    if standard is None or expanded is None or coverage is None:
        return None
    shown = units.preferred_unit(unit, units.RESISTANCE)
    factor = units.factor_to_si(unit, units.RESISTANCE)
    return Budget(
        unit=shown,
        rows=[_row(part, factor, standard) for part in verdict.budget],
        standard=plain(standard / factor),
        coverage=plain(coverage),
        degrees=_degrees(verdict.effective_degrees),
        expanded=plain(expanded / factor),
    )


def _row(part: Component, factor: Decimal, standard: Decimal) -> BudgetRow:
    share = part.standard_ohm**2 / standard**2 * 100 if standard else Decimal(0)
    return BudgetRow(
        name=part.name,
        width=plain(part.width_ohm / factor),
        distribution=part.distribution,
        divisor=plain(part.divisor),
        sensitivity=plain(part.sensitivity),
        standard=plain(part.standard_ohm / factor),
        share=f"{share:.1f}",
        degrees=_degrees(part.degrees),
    )


def _degrees(number: Decimal | None) -> str:
    return INFINITE if number is None else plain(number, 4)


def conformity(verdict: Verdict) -> str:
    """The probability of conformity in words, to four decimals and never a whole certainty; empty without one."""
    found = verdict.conformity_probability
    if found is None:
        return ""
    if found > 1 - NEARLY:
        return "more than 0.9999"
    return "less than 0.0001" if found < NEARLY else f"{found:.4f}"
