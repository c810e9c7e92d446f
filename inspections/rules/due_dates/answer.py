"""What the engine answers: obligations with their due day, state and reason."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from inspections.rules.due_dates.facts import Demand
from inspections.rules.due_dates.standing import State


@dataclass(frozen=True, slots=True)
class Obligation:
    """One thing to be inspected by one day.

    rule: the rule's id, or the id of the event or suspension that asks
    points, parts: both "all", or the points and the parts that a part-done visit left, in the order given
    overdue_since: the first day overdue; None when not overdue (kept while suspended)
    days_overdue: from overdue_since to the day asked about, both included
    why: one sentence for the person who has to arrange it
    allowed_until: the last day a dispensation of the rule's author allows; None where none moved the consequence
    since: the day the due day is counted from; None where it is counted from none
    sums: how it was counted, as sums that anybody can do again, each a sentence without its full stop
    met_on: the last days on which the demand was met at these points and parts
    left_on: of a visit that left them out since
    """

    rule: str
    demand: Demand
    points: Literal["all"] | tuple[str, ...]
    due: date
    grace_until: date
    state: State
    overdue_since: date | None
    days_overdue: int | None
    why: str
    allowed_until: date | None = None
    parts: Literal["all"] | tuple[str, ...] = "all"
    since: date | None = None
    sums: tuple[str, ...] = ()
    met_on: tuple[date, ...] = ()
    left_on: date | None = None


@dataclass(frozen=True, slots=True)
class DueDates:
    """All obligations on the day asked about, and the one to arrange next (None if there is none)."""

    obligations: tuple[Obligation, ...]
    next: Obligation | None
