"""What falls due and what is planned, week by week, by skill and by instrument kind: counted in the database.

Each obligation is counted once: what follows after the next visit is not reckoned in.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import (
    Case,
    Count,
    Exists,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from inspections.due_list import OPEN_VISIT, running, settling_visits
from inspections.local_days import usual_day
from inspections.models import DueDate, PlannedDay, Visit, VisitState, season_months
from inspections.rules.bring_forward import WEEK, Falling, Flattened, bring_forward, monday_of
from inspections.rules.due_dates import opens
from sites.models import Quantity, System, SystemKind, TestPoint, VisitKind

WEEKS, WEEKS_IN_A_BLOCK = 78, 13
MOVED_TOO_OFTEN = 2
BITS = {kind: 1 << n for n, kind in enumerate(SystemKind.values)}
RESISTANCES = (Quantity.BOND, Quantity.JOINT, Quantity.CONTINUITY)
EARTHS = (Quantity.EARTH, Quantity.EARTH_SYSTEM)
NEEDED = {
    (True, True): "low-resistance ohmmeter and earth tester",
    (True, False): "low-resistance ohmmeter",
    (False, True): "earth tester",
    (False, False): "no point is recorded",
}


@dataclass(slots=True)
class Week:
    """due: how many obligations fall due; of these with_visit; planned: visits that stand; after: load as proposed"""

    monday: date
    due: int = 0
    with_visit: int = 0
    planned: int = 0
    after: int = 0

    @property
    def without(self) -> int:
        return self.due - self.with_visit

    @property
    def load(self) -> int:
        """Visits that stand, and what falls due without one."""
        return self.planned + self.without


@dataclass(slots=True)
class Kind:
    """A skill or a kind of instrument, and how many obligations ask for it, by quarter of a year from now."""

    name: str
    blocks: list[int] = field(default_factory=lambda: [0] * (WEEKS // WEEKS_IN_A_BLOCK))

    @property
    def total(self) -> int:
        return sum(self.blocks)


@dataclass(frozen=True, slots=True)
class Workload:
    weeks: Sequence[Week]
    skills: Sequence[Kind]
    instruments: Sequence[Kind]
    flattened: Flattened

    @property
    def due(self) -> int:
        return sum(week.due for week in self.weeks)

    @property
    def planned(self) -> int:
        return sum(week.planned for week in self.weeks)


def window(at: datetime) -> tuple[date, date]:
    """The first and the last day that are looked at: eighteen months of whole weeks from this Monday on."""
    monday = monday_of(usual_day(at))
    return monday, monday + WEEK * WEEKS - timedelta(days=1)


def in_window(owed: QuerySet[DueDate], at: datetime) -> QuerySet[DueDate]:
    """Running obligations whose due day lies in the window. Takes rows ``with_today``."""
    return running(owed).filter(due__range=window(at))


def workload(owed: QuerySet[DueDate], visits: QuerySet[Visit], at: datetime) -> Workload:
    """In four queries. owed: obligations ``with_today``; visits: those of the same places"""
    first, last = window(at)
    rows = in_window(owed, at).order_by()
    weeks = {first + WEEK * n: Week(first + WEEK * n) for n in range(WEEKS)}
    stands = visits.filter(state__in=OPEN_VISIT, planned_on__range=(first, last)).order_by()
    for day, number in stands.values_list("planned_on").annotate(n=Count("pk")):
        weeks[monday_of(day)].planned += number
    falling: dict[tuple[date, date], int] = defaultdict(int)
    has_visit = Exists(settling_visits().order_by())
    by_day = rows.annotate(has_visit=has_visit).values_list(
        "due", "has_visit", "rule__early_days", "rule__basis", "rule__period", "rule__seasons"
    )
    for due, planned, early, basis, period, seasons, number in by_day.annotate(n=Count("pk")):
        weeks[monday_of(due)].due += number
        if planned:
            weeks[monday_of(due)].with_visit += number
        else:
            first_day = opens(
                due, basis=basis, early_days=early or 0, period=period, seasons=season_months(seasons or "")
            )
            falling[first_day, due] += number
    groups = [Falling(earliest, due, number) for (earliest, due), number in sorted(falling.items())]
    flat = bring_forward(
        groups, today=usual_day(at), weeks=WEEKS, planned=_not_to_be_moved(weeks, groups, usual_day(at))
    )
    for monday, week in weeks.items():
        week.after = flat.after[monday]
    return Workload(list(weeks.values()), _skills(rows, first), _instruments(rows, first), flat)


def _not_to_be_moved(weeks: Mapping[date, Week], groups: Iterable[Falling], today: date) -> dict[date, int]:
    """Visits that stand, and what fell due earlier this week: the load that stays where it is."""
    fixed = {monday: week.planned for monday, week in weeks.items()}
    for each in groups:
        if each.due < today:
            fixed[monday_of(each.due)] += each.number
    return fixed


def _skills(rows: QuerySet[DueDate], first: date) -> list[Kind]:
    """Kinds of system at the structure, together, with the kind of visit: each obligation in one line."""
    bit = Case(
        *(When(kind=kind, then=Value(value)) for kind, value in BITS.items()), output_field=IntegerField()
    )
    kinds = System.objects.filter(structure=OuterRef("structure")).order_by().values("structure")
    mask = Coalesce(Subquery(kinds.annotate(mask=Sum(bit, distinct=True)).values("mask")), 0)
    found: dict[str, Kind] = {}
    counted = rows.annotate(mask=mask).values_list("due", "demand", "mask").annotate(n=Count("pk"))
    for due, demand, held, number in counted:
        names = [kind for kind, value in BITS.items() if held & value] or ["no system is recorded"]
        name = f"{_listed(names)}: {demand}"
        _count(found.setdefault(name, Kind(name)), due, first, number)
    return sorted(found.values(), key=lambda kind: (-kind.total, kind.name))


def _instruments(rows: QuerySet[DueDate], first: date) -> list[Kind]:
    """What the points of the structure are read with; a visual inspection needs none."""
    points = TestPoint.objects.filter(structure=OuterRef("structure"), retired_on=None).order_by()
    counted = (
        rows.annotate(
            ohm=Case(
                When(demand="visual", then=Value(False)),
                default=Exists(points.filter(quantity__in=RESISTANCES)),
            ),
            earth=Case(
                When(demand="visual", then=Value(False)), default=Exists(points.filter(quantity__in=EARTHS))
            ),
            looks=Case(When(demand="visual", then=Value(True)), default=Value(False)),
        )
        .values_list("due", "looks", "ohm", "earth")
        .annotate(n=Count("pk"))
    )
    found: dict[str, Kind] = {}
    for due, looks, ohm, earth, number in counted:
        name = "none, a visual inspection" if looks else NEEDED[bool(ohm), bool(earth)]
        _count(found.setdefault(name, Kind(name)), due, first, number)
    return sorted(found.values(), key=lambda kind: (-kind.total, kind.name))


def _count(kind: Kind, due: date, first: date, number: int) -> None:
    kind.blocks[(due - first).days // (7 * WEEKS_IN_A_BLOCK)] += number


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def booked(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Planned visits, the next one first, with who goes as ``visit.goes``."""
    return (
        visits.filter(state=VisitState.PLANNED)
        .prefetch_related("inspectors__person")
        .order_by("planned_on", "pk")
    )


def moved_often(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Visits moved more than twice, with ``moves``, the latest planned first."""
    moves = PlannedDay.objects.exclude(reason="").order_by().values("visit").annotate(n=Count("pk"))
    own = moves.filter(visit=OuterRef("pk")).values("n")
    often = moves.filter(n__gt=MOVED_TOO_OFTEN).values("visit")
    return visits.filter(pk__in=often).annotate(moves=Subquery(own)).order_by("-planned_on", "-pk")


def planned_late(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Planned visits whose day lies after a due day that they would settle, with ``first_due``."""
    owed: QuerySet[Any] = DueDate.objects.filter(
        Q(applies_until__isnull=True) | Q(applies_until__gte=OuterRef("planned_on")),
        structure=OuterRef("structure"), suspended=False, due__lt=OuterRef("planned_on"),
    ).order_by("due")  # fmt: skip
    whole = (VisitKind.COMPLETE, VisitKind.FIRST, VisitKind.AFTER_EVENT)
    first_due = Case(
        When(kind__in=whole, then=Subquery(owed.values("due")[:1])),
        default=Subquery(owed.filter(demand=OuterRef("kind")).values("due")[:1]),
    )
    rows = visits.filter(state=VisitState.PLANNED).annotate(first_due=first_due)
    return rows.filter(first_due__isnull=False).order_by("planned_on", "pk")
