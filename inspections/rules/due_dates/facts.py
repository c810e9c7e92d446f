"""What the due dates are counted from: rules, visits, events, suspensions and dispensations.

Every fact may carry `recorded`, the instant the record learned of it; None means it was always known.
All days are civil days in the site's time zone; instants are aware.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

Demand = Literal["visual", "complete", "electrical"]
Basis = Literal["rolling", "anniversary", "calendar-month", "calendar-period", "season", "before-use"]
Period = Literal["year", "half-year", "quarter"]
VisitKind = Literal[
    "complete", "first", "visual", "electrical", "after-event", "re-test", "attended-no-access"
]
Points = Literal["all"] | frozenset[str]


@dataclass(frozen=True, slots=True)
class IntervalRule:
    """One author's demand: look at this at least so often.

    months: whole, at least 1; needed by rolling, anniversary and calendar-month
    anchor: needed by anniversary
    period: needed by calendar-period
    seasons: month numbers of each season, in order; needed by season
    use_on: the day of return to use; needed by before-use
    adopted_until: the last day the rule asks
    """

    id: str
    demand: Demand
    basis: Basis
    months: int | None = None
    anchor: date | None = None
    period: Period | None = None
    seasons: tuple[tuple[int, ...], ...] = ()
    use_on: date | None = None
    early_days: int = 0
    grace_days: int = 0
    first_due: date | None = None
    adopted_from: date | None = None
    adopted_until: date | None = None
    recorded: datetime | None = None


@dataclass(frozen=True, slots=True)
class VisitDone:
    """One visit that took place; its day is the local day of `finished`."""

    id: str
    kind: VisitKind
    finished: datetime
    recorded: datetime | None = None
    points_covered: Points = "all"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened to the structure and asks for an inspection within so many days."""

    id: str
    kind: str
    on: date
    recorded: datetime | None = None
    inspect_within_days: int = 0


@dataclass(frozen=True, slots=True)
class Suspension:
    """The structure is out of use from one day until another, both included; until None is open-ended."""

    id: str
    from_: date
    until: date | None = None
    recorded: datetime | None = None
    return_inspection: bool = True


@dataclass(frozen=True, slots=True)
class Dispensation:
    """A rule's own author allows more time: not shown as breached before `until`."""

    rule: str
    until: date
    document: str
    recorded: datetime | None = None
