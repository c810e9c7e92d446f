"""What the due dates are counted from: rules, visits, events, suspensions and dispensations.

Every fact may carry `recorded`, the instant the record learned of it; None means it was always known.
All days are civil days in the site's time zone; instants are aware.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, TypeVar

from inspections.rules.due_dates.calendar_arithmetic import MONTHS_IN_PERIOD, season_in_order

Demand = Literal["visual", "complete", "electrical"]
Basis = Literal["rolling", "anniversary", "calendar-month", "calendar-period", "season", "before-use"]
Period = Literal["year", "half-year", "quarter"]
VisitKind = Literal[
    "complete", "first", "visual", "electrical", "after-event", "re-test", "attended-no-access"
]
# What a demand asks for, as a sentence names it. Measuring alone is a test, which leaves parts unlooked at.
ASKED_FOR: dict[str, str] = {
    "visual": "visual inspection",
    "complete": "complete inspection",
    "electrical": "electrical test",
}
Points = Literal["all"] | frozenset[str]

NEEDED_BY_BASIS: dict[str, tuple[str, ...]] = {
    "rolling": ("months",),
    "anniversary": ("months", "anchor"),
    "calendar-month": ("months",),
    "calendar-period": ("period",),
    "season": ("seasons",),
    "before-use": ("use_on",),
}

T = TypeVar("T")


def given(value: T | None, name: str) -> T:
    """The value of a key that the basis needs; ValueError where it is None."""
    if value is None:
        raise ValueError(f"The rule has no {name}, which its basis needs.")
    return value


@dataclass(frozen=True, slots=True)
class IntervalRule:
    """One author's demand: look at this at least so often.

    months: whole, at least 1; needed by rolling, anniversary and calendar-month
    anchor: needed by anniversary
    period: needed by calendar-period
    seasons: month numbers of each season, in order; needed by season
    use_on: the day of return to use; needed by before-use
    adopted_until: the last day the rule asks
    name: how the sentence names it, such as "the insurer's rule"; "rule <id>" where empty
    Raises: ValueError where the basis misses a value or a number is out of its range
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
    name: str = ""

    def __post_init__(self) -> None:
        if self.basis not in NEEDED_BY_BASIS:
            raise ValueError(f"Rule {self.id}: {self.basis!r} is no basis of counting.")
        for needed in NEEDED_BY_BASIS[self.basis]:
            if getattr(self, needed) in (None, ()):
                raise ValueError(f"Rule {self.id}: the basis {self.basis} needs {needed}.")
        if self.months is not None and self.months < 1:
            raise ValueError(f"Rule {self.id}: months is a whole number, at least 1.")
        if self.period is not None and self.period not in MONTHS_IN_PERIOD:
            raise ValueError(f"Rule {self.id}: {self.period!r} is no period.")
        if self.early_days < 0 or self.grace_days < 0:
            raise ValueError(f"Rule {self.id}: early_days and grace_days are at least 0.")
        if any(season_in_order(season) != tuple(season) for season in self.seasons):
            raise ValueError(f"Rule {self.id}: give the months of a season in the order they pass.")
        if self.adopted_from and self.adopted_until and self.adopted_until < self.adopted_from:
            raise ValueError(f"Rule {self.id}: adopted_until lies before adopted_from.")


@dataclass(frozen=True, slots=True)
class VisitDone:
    """One visit that took place; its day is the local day of `finished`.

    parts_covered: what was looked at; it counts only where the structure's parts are given
    """

    id: str
    kind: VisitKind
    finished: datetime
    recorded: datetime | None = None
    points_covered: Points = "all"
    parts_covered: Points = "all"


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
