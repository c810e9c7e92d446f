"""The months in which a structure's earth was measured, and what each cycle would meet from there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from django.db.models import Max
from django.db.models.functions import TruncMonth

from inspections.models import Reading
from inspections.rules.due_dates.calendar_arithmetic import MONTH_NAMES
from inspections.rules.interval_change import nominal_months
from inspections.rules.season_cycles import CYCLES_SHOWN, Reach, in_words, reach
from inspections.standing_words import Owed
from sites.models import Quantity, Structure, TestPoint

EARTHS = (Quantity.EARTH, Quantity.EARTH_SYSTEM)


@dataclass(frozen=True, slots=True)
class Box:
    """One month of the strip. year: in which it was measured last, None for never; visit: one of that month

    coming: the next is due then
    """

    name: str
    year: int | None
    coming: bool
    visit: int | None = None


@dataclass(frozen=True, slots=True)
class Cycle:
    """What one cycle would meet. too_long: the strictest rule asks sooner"""

    reach: Reach
    too_long: bool

    @property
    def months(self) -> str:
        """The months it meets in the order of the year, all of them said so."""
        met = sorted(self.reach.months)
        return "every month" if len(met) == len(MONTH_NAMES) else ", ".join(MONTH_NAMES[m - 1] for m in met)

    @property
    def until(self) -> str:
        """How long until every month it can meet has been met."""
        if not self.reach.new:
            return "all of them are met"
        if not self.reach.complete_in:
            return "met by the first"
        months = f"{self.reach.complete_in} months"
        by = self.reach.complete_by
        return f"{months}, by {in_words(by)}" if by else months


@dataclass(frozen=True, slots=True)
class Strip:
    """since: what the cycles are counted from, in words"""

    boxes: list[Box]
    cycles: list[Cycle]
    strictest: float | None
    measured: int
    since: str


def has_earth(structure: Structure) -> bool:
    """Whether a point there is, or was, one of the earth. Reads one query."""
    return TestPoint.objects.filter(structure=structure, quantity__in=EARTHS).exists()


def strip(structure: Structure, owed: Sequence[Owed], *, today: date) -> Strip:
    """Reads one query. owed: what is asked of the structure, by due day; today: the civil day there"""
    zone = ZoneInfo(structure.site.time_zone)
    read = Reading.objects.standing().filter(point__structure=structure, point__quantity__in=EARTHS)
    months = (
        read.annotate(month=TruncMonth("at", tzinfo=zone))
        .order_by()
        .values("month")
        .annotate(last=Max("visit"))
    )
    visits = {
        (row["month"].year, row["month"].month): row["last"] for row in months if row["month"] is not None
    }
    met = sorted(visits)
    last_years = {month: year for year, month in met}
    asking = [each for each in owed if each.runs and each.row.demand != "visual" and each.row.rule]
    coming = max(asking[0].row.due, today) if asking else None
    named = [nominal_months(each.row.rule) for each in asking if each.row.rule]
    strictest = min((months for months in named if months is not None), default=None)
    last = met[-1] if met else None
    return Strip(
        [
            Box(
                name,
                year := last_years.get(n),
                coming is not None and n == coming.month,
                visits.get((year or 0, n)),
            )
            for n, name in enumerate(MONTH_NAMES, start=1)
        ],
        [
            Cycle(
                reach(cycle, last, last_years, coming=(coming.year, coming.month) if coming else None),
                strictest is not None and cycle > strictest,
            )
            for cycle in CYCLES_SHOWN
        ],
        strictest,
        len(last_years),
        "the last measurement" if last else "the next due day" if coming else "January",
    )
