"""What the steps of one verdict hand on to each other.

Units: SI, days. Valid within one verdict. Source: how this product writes days.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from inspections.calculations.display import Display
from inspections.calculations.printing import NBSP, plain
from inspections.calculations.rods_together import single_limit_ohm
from inspections.calculations.units import PREFERRED, RESISTANCE, preferred_unit
from inspections.rules.judging.facts import (
    Component,
    EarlierReading,
    InstrumentFacts,
    LimitFacts,
    Line,
    PointFacts,
    ReadingFacts,
)

_MONTHS = ("", "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_SHIFTS = {unit: -factor.adjusted() for unit, factor in PREFERRED[RESISTANCE].items()}


def day_text(day: date) -> str:
    """A day as it is shown everywhere: `12 Mar 2027`."""
    return f"{day.day} {_MONTHS[day.month]} {day.year}"


def _of_one_electrode(limit: LimitFacts) -> LimitFacts:
    """The limit of the one electrode that was read, where the rule states the whole earth's."""
    if limit.electrodes is None or limit.limit_ohm is None:
        return limit
    return replace(limit, limit_ohm=single_limit_ohm(limit.limit_ohm, limit.electrodes, limit.times))


class Working:
    """One verdict while it is being reached. Each step reads what earlier ones left and adds its lines.

    as_third: a verdict on record is reckoned again as calculation 3 did, the one before this.
    limit: with the limit of what was read; told_limit_ohm: as its rule states it.
    unit, shift: the reading's unit, and the power of ten from ohms to it.
    display: the first display; displays: with its repeats (or the positions), numbers in ohms.
    shown_ohm: what the display says of the resistance, before the lead null; value_ohm: after it.
    factor, alpha_per_k: to the reference temperature; lowest_factor, highest_factor: their bounds where the
        temperature was not taken. None: no correction is known.
    accuracy_ohm: half-width of the instrument's accuracy at what it showed.
    budget, standard_ohm, coverage, degrees: the uncertainty's parts, u, k and ν_eff; expanded_ohm: U.
    probability: of conformity, beside the decision.
    """

    __slots__ = (
        "accuracy_k", "accuracy_ohm", "alpha_per_k", "as_third", "at_limit_ohm", "bound_ohm", "budget", "corrected_ohm",
        "coverage", "degrees", "display", "displays", "expanded_ohm", "factor", "highest_factor", "history",
        "instrument", "limit", "lines", "lowest_factor", "metal_c", "point", "probability", "questions", "reading",
        "reason", "shift", "shown_ohm", "standard_ohm", "statement", "told_limit_ohm", "unit", "unresolved",
        "value_ohm",
    )  # fmt: skip

    def __init__(
        self,
        point: PointFacts,
        limit: LimitFacts,
        instrument: InstrumentFacts,
        reading: ReadingFacts,
        history: Sequence[EarlierReading],
        *,
        as_third: bool = False,
    ) -> None:
        self.as_third = as_third
        self.point = point
        self.told_limit_ohm = limit.limit_ohm
        self.limit = _of_one_electrode(limit)
        self.instrument = instrument
        self.reading = reading
        self.history = history
        self.lines: list[Line] = []
        self.questions: list[str] = []
        self.reason = ""
        self.statement: str | None = None
        self.unit = preferred_unit(reading.unit, RESISTANCE)
        self.shift = _SHIFTS[self.unit]
        self.display: Display = None  # type: ignore[assignment]  # the first step fills it
        self.displays: list[Decimal] = []
        self.bound_ohm: Decimal | None = None
        self.shown_ohm: Decimal | None = None
        self.value_ohm: Decimal | None = None
        self.accuracy_ohm: Decimal | None = None
        self.at_limit_ohm: Decimal | None = None
        self.unresolved = False
        self.factor: Decimal | None = None
        self.alpha_per_k: Decimal | None = None
        self.accuracy_k: Decimal | None = None
        self.metal_c: Decimal | None = None
        self.lowest_factor: Decimal | None = None
        self.highest_factor: Decimal | None = None
        self.corrected_ohm: Decimal | None = None
        self.expanded_ohm: Decimal | None = None
        self.budget: list[Component] = []
        self.standard_ohm: Decimal | None = None
        self.coverage: Decimal | None = None
        self.degrees: Decimal | None = None
        self.probability: float | None = None

    def say(self, step: str, text: str, source: str = "") -> None:
        """Add one printed line."""
        self.lines.append(Line(step, text, source))

    def stop(self, reason: str) -> None:
        """It cannot be judged, for this reason; the first one stands."""
        if not self.reason:
            self.reason = reason

    def ask(self, question: str) -> None:
        """Add a question, once."""
        if question not in self.questions:
            self.questions.append(question)

    def number(self, ohm: Decimal) -> str:
        """Ohms as a number in the reading's unit."""
        return plain(ohm.scaleb(self.shift))

    def ohms(self, ohm: Decimal) -> str:
        """Ohms with the reading's unit."""
        return f"{plain(ohm.scaleb(self.shift))}{NBSP}{self.unit}"
