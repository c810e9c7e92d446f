"""What comes in from a visit, point by point, before it becomes rows."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from inspections.models import InstrumentRange, Reason
from sites.models import TestPoint


@dataclass(frozen=True, slots=True)
class NewReading:
    """A reading as the display showed it; fields as in ``inspections.models.Reading``.

    range: carries its instrument
    repeats, reversed_displays: further displays, in ``unit``
    dropped: (display text, reason) of displays that are left out
    positions: (percent of the distance, display text) for fall of potential
    at: aware
    """

    point: TestPoint
    range: InstrumentRange
    text: str
    unit: str
    method: str
    at: datetime
    current_a: Decimal | None = None
    set_current_a: Decimal | None = None
    temperature_c: Decimal | None = None
    temperature_source: str = "not taken"
    temperature_accuracy_k: Decimal | None = None
    repeats: tuple[str, ...] = ()
    reversed_displays: tuple[str, ...] = ()
    dropped: tuple[tuple[str, str], ...] = ()
    positions: tuple[tuple[Decimal, str], ...] = ()
    null_ohm: Decimal | None = None
    null_taken_at: datetime | None = None
    waited_s: Decimal | None = None
    open_circuit_v: Decimal | None = None
    joint_state: str = ""


@dataclass(frozen=True, slots=True)
class NewNoReading:
    """A point that was not read, and why. words: what stood in the way, and what would help."""

    point: TestPoint
    reason: Reason
    at: datetime
    words: str = ""
