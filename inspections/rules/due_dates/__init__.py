"""Due dates: which rule asks for what by which day, and why that day."""

from inspections.rules.due_dates.answer import DueDates, Obligation, State
from inspections.rules.due_dates.engine import obligations
from inspections.rules.due_dates.facts import (
    Basis,
    Demand,
    Dispensation,
    Event,
    IntervalRule,
    Period,
    Suspension,
    VisitDone,
    VisitKind,
)

__all__ = [
    "Basis",
    "Demand",
    "Dispensation",
    "DueDates",
    "Event",
    "IntervalRule",
    "Obligation",
    "Period",
    "State",
    "Suspension",
    "VisitDone",
    "VisitKind",
    "obligations",
]
