"""What the verdict stands on, and the verdict: frozen facts in SI units, every number a Decimal.

A binary float once judged 1001 mΩ above a limit of 1.001 Ω, so none is let in here.
"""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

WITHIN = "within limit"
ABOVE = "above limit"
CANNOT = "cannot be judged"
INFORMATION = "for information"
OUTCOMES = (WITHIN, ABOVE, CANNOT, INFORMATION)

STEADY = "steady"
RISEN = "risen"
FALLEN = "fallen"
FIRST = "first reading"
NOT_COMPARABLE = "not comparable"

SIMPLE = "simple"
GUARDED = "guarded"
FOUR_WAY = "four-way"
DECISIONS = (SIMPLE, GUARDED, FOUR_WAY)

FALL_OF_POTENTIAL = "fall-of-potential"
METHODS = ("two-wire", "four-wire", FALL_OF_POTENTIAL, "clamp-on", "two-point")

QUANTITIES = ("bond", "joint", "continuity", "earth", "earth-system")
SOIL = frozenset({"earth", "earth-system"})

NOT_TAKEN = "not taken"
TEMPERATURE_SOURCES = ("contact", "air", NOT_TAKEN)


@dataclass(frozen=True, slots=True)
class Material:
    """A metal: linear coefficient [1/K], given at alpha_at_c [degC]; resistivity at 20 degC [ohm*m]."""

    name: str
    alpha_per_k: Decimal | None = None
    alpha_at_c: Decimal = Decimal(20)
    resistivity_ohm_m: Decimal | None = None
    source: str = ""


@dataclass(frozen=True, slots=True)
class PointFacts:
    """What is measured (one of QUANTITIES) and, where known, the conductor it runs through."""

    quantity: str
    material: Material | None = None
    length_m: Decimal | None = None
    section_m2: Decimal | None = None
    parallel_paths: bool | None = None


@dataclass(frozen=True, slots=True)
class LimitFacts:
    """The rule as it stood on the day: limit_ohm None means that no limit applies.

    reference_temperature_c None: the limit holds for the resistance as found.
    guard: w = guard · U, for the guarded decision.
    methods: empty means that the rule asks for none in particular.
    repeats: how many displays are wanted, the first included.
    electrodes: where limit_ohm is the whole earth's and one of so many electrodes was read; then that one may come to
        times · electrodes · limit_ohm. None: limit_ohm is the limit of what was read.
    label: who asks for it and which edition, printed in the working.
    """

    limit_ohm: Decimal | None
    reference_temperature_c: Decimal | None = None
    decision: str = SIMPLE
    guard: Decimal = Decimal(1)
    methods: tuple[str, ...] = ()
    minimum_current_a: Decimal | None = None
    repeats: int = 1
    allowed_spread_percent: Decimal = Decimal(5)
    open_circuit_voltage_v: tuple[Decimal, Decimal] | None = None
    label: str = ""
    electrodes: int | None = None
    times: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True)
class InstrumentFacts:
    """The calibration known when the reading was taken, and the accuracy on its range.

    calibrated_on or valid_until None: no calibration is known for that time. Both end days count as valid.
    Accuracy: ± (percent_of_reading % of the reading + digits · step); None where it is not known.
    It is a bound and enters as one rectangular half-width. An instrument of which only its operating uncertainty
    class is known (30 % after IEC 61557, from memory) is percent_of_reading 30, digits 0: a half-width of 30 % of
    the reading, so u = 0.30 R / √3 and U = 0.346 R. It is not an expanded uncertainty, where U would be 0.30 R.
    """

    calibrated_on: date | None
    valid_until: date | None
    percent_of_reading: Decimal | None
    digits: Decimal | None
    label: str = ""


@dataclass(frozen=True, slots=True)
class ReadingFacts:
    """A reading as the display showed it.

    text, repeats, reversed, positions: display texts, all in `unit`; step_ohm and range_top_ohm in ohms.
    reversed: empty, the display with the current reversed, or that and the display forward again.
    positions: (percent of the distance, text) for fall of potential.
    current_a: what flowed (achieved); set_current_a: what the instrument was set to, where it was noted.
    at: aware, in the site's own zone; calibration is judged by its local day.
    temperature_accuracy_k None counts as 2 K.
    dropped: (display text, reason) of repeats that are left out of the mean; printed, never used.
    """

    text: str
    unit: str
    step_ohm: Decimal
    range_top_ohm: Decimal
    method: str
    current_a: Decimal | None
    temperature_c: Decimal | None
    temperature_source: str | None
    temperature_accuracy_k: Decimal | None
    at: datetime
    repeats: tuple[str, ...] = ()
    reversed: tuple[str, ...] = ()
    null_ohm: Decimal | None = None
    positions: tuple[tuple[Decimal, str], ...] = ()
    open_circuit_voltage_v: Decimal | None = None
    null_taken_at: datetime | None = None
    waited_s: Decimal | None = None
    joint_state: str | None = None
    dropped: tuple[tuple[str, str], ...] = ()
    set_current_a: Decimal | None = None


@dataclass(frozen=True, slots=True)
class EarlierReading:
    """An earlier result of the same point, corrected as its rule asked."""

    on: date
    corrected_ohm: Decimal
    uncertainty_ohm: Decimal | None
    method: str
    baseline: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One printed line of the working. source is empty where no formula or document stands behind it."""

    step: str
    text: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Component:
    """One row of the uncertainty budget [ohm]: standard_ohm = width_ohm / divisor · sensitivity, exactly.

    width_ohm: the half-width of a rectangular distribution; the whole step of a display (divisor √12); the standard
        deviation of the mean where repeats scatter (divisor 1)
    sensitivity: what the corrected value changes by, for each ohm of it; without a unit
    degrees: degrees of freedom; None for a bound that nobody scattered (infinitely many)
    """

    name: str
    width_ohm: Decimal
    distribution: str
    divisor: Decimal
    sensitivity: Decimal
    standard_ohm: Decimal
    degrees: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """Against the last like reading and the baseline, in signed percent of each; None where there is none."""

    state: str
    percent: Decimal | None = None
    baseline_percent: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """outcome: one of OUTCOMES; statement: the four-way decision only; reason: why it cannot be judged.

    value_ohm: after repeats, reversal and null, before temperature. lower and upper: corrected − and + uncertainty.
    budget: its standard uncertainties squared and added are the square of standard_uncertainty_ohm, which times
        coverage_factor is uncertainty_ohm; effective_degrees None: infinitely many
    conformity_probability: that the true value keeps the limit (JCGM 106); beside the decision, never its ground.
        None without a value, a limit, or after an earlier stop
    """

    outcome: str
    statement: str | None
    reason: str
    value_ohm: Decimal | None
    corrected_ohm: Decimal | None
    uncertainty_ohm: Decimal | None
    lower_ohm: Decimal | None
    upper_ohm: Decimal | None
    limit_ohm: Decimal | None
    change: Change
    lines: tuple[Line, ...]
    questions: tuple[str, ...]
    budget: tuple[Component, ...] = ()
    standard_uncertainty_ohm: Decimal | None = None
    coverage_factor: Decimal | None = None
    effective_degrees: Decimal | None = None
    conformity_probability: float | None = None
