"""The chain of steps: from the facts to the verdict.

Units: SI, as the facts name them. Valid for one reading of a resistance against one rule. Source: order of the steps as
trade practice has it (common practice); uncertainty JCGM 100:2008 (GUM), decision ILAC-G8:09/2019.
"""

from collections.abc import Sequence
from decimal import Context, Decimal, localcontext

from inspections.calculations.display import NOTHING
from inspections.rules.judging.change import change
from inspections.rules.judging.decision import decision
from inspections.rules.judging.facts import (
    Change,
    EarlierReading,
    InstrumentFacts,
    LimitFacts,
    PointFacts,
    ReadingFacts,
    Verdict,
)
from inspections.rules.judging.fitness import calibration, current, limit_in_force, method, present
from inspections.rules.judging.plausibility import plausibility
from inspections.rules.judging.range_and_unit import range_and_step, unit
from inspections.rules.judging.repeats import repeats
from inspections.rules.judging.reversal_and_null import null, reversal
from inspections.rules.judging.state import Working
from inspections.rules.judging.temperature import temperature
from inspections.rules.judging.uncertainty import uncertainty

CALCULATION_VERSION = "4"
"""Changes whenever the same facts could give another verdict or other lines."""

KEPT_VERSIONS = ("3", CALCULATION_VERSION)
"""By which stored verdicts can be reckoned again: ``judge`` still takes the steps as the earlier one did."""

STEPS = (
    "present", "calibration", "method", "current", "limit", "range", "unit", "repeats",
    "reversal", "null", "temperature", "uncertainty", "decision", "change", "plausibility",
)  # fmt: skip

_FITNESS = (present, calibration, method, current, limit_in_force)
_VALUE = (range_and_step, unit, repeats, reversal, null, temperature, uncertainty)
_CONTEXT = Context(prec=28)


def judge(
    point: PointFacts,
    limit: LimitFacts,
    instrument: InstrumentFacts,
    reading: ReadingFacts,
    history: Sequence[EarlierReading],
    version: str = CALCULATION_VERSION,
) -> Verdict:
    """The verdict on one reading, with every step as printed lines in the order of STEPS.

    A step that stops does not end the working: what can still be computed is, and the first reason stands.
    Without a display (`--`) the steps from range to uncertainty have nothing to work on and print nothing.
    history: earlier results of the point, in any order; those after the reading's own day are left out.
    version: of the calculation; a verdict on record is reckoned again by its own, one before the third by the third
    Raises: ValueError with a sentence for an unreadable display text, an unknown unit, or a temperature or
        coefficient outside the linear law of metals
    """
    with localcontext(_CONTEXT):
        w = Working(point, limit, instrument, reading, history, as_third=version != CALCULATION_VERSION)
        for step in _FITNESS:
            step(w)
        if w.display.kind != NOTHING:
            for step in _VALUE:
                step(w)
        outcome = decision(w)
        changed = change(w)
        plausibility(w)
        return _verdict(w, outcome, changed)


def _verdict(w: Working, outcome: str, changed: Change) -> Verdict:
    corrected, expanded = w.corrected_ohm, w.expanded_ohm
    lower: Decimal | None = None
    upper: Decimal | None = None
    if corrected is not None and expanded is not None:
        lower, upper = corrected - expanded, corrected + expanded
    return Verdict(
        outcome, w.statement, w.reason, w.value_ohm, corrected, expanded, lower, upper,
        w.limit.limit_ohm, changed, tuple(w.lines), tuple(w.questions),
        tuple(w.budget), w.standard_ohm, w.coverage, w.degrees, w.probability,
    )  # fmt: skip
