"""Due dates: which rule asks for what by which day, and why that day."""

from inspections.rules.due_dates.answer import DueDates, Obligation
from inspections.rules.due_dates.calendar_arithmetic import DayOutOfRange, add_months, local_day
from inspections.rules.due_dates.engine import obligations
from inspections.rules.due_dates.facts import (
    ASKED_FOR,
    Basis,
    Demand,
    Dispensation,
    Event,
    IntervalRule,
    Period,
    Points,
    Suspension,
    VisitDone,
    VisitKind,
)
from inspections.rules.due_dates.following import following
from inspections.rules.due_dates.standing import Standing, State, state_on, suspended_since
from inspections.rules.due_dates.suspension import working_windows
from inspections.rules.due_dates.windows import opens

__all__ = [
    "ASKED_FOR",
    "Basis",
    "DayOutOfRange",
    "Demand",
    "Dispensation",
    "DueDates",
    "Event",
    "IntervalRule",
    "Obligation",
    "Period",
    "Points",
    "Standing",
    "State",
    "Suspension",
    "VisitDone",
    "VisitKind",
    "add_months",
    "following",
    "local_day",
    "obligations",
    "opens",
    "state_on",
    "suspended_since",
    "working_windows",
]
