"""What falls due and what is planned, week by week, by skill and by instrument kind: counted in the database.

What falls due is an obligation on record. What falls due again follows from its rule, as if each due day were met on
that day and what is overdue today; it is told apart, and nothing of it is proposed to be brought forward.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import (
    Case,
    CharField,
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

from inspections.actions.due import counted
from inspections.due_list import OPEN_VISIT, running, settling_visits
from inspections.local_days import usual_day
from inspections.models import DueDate, IntervalRule, PlannedDay, Visit, VisitState, season_months
from inspections.rules.bring_forward import WEEK, Falling, Flattened, bring_forward, monday_of
from inspections.rules.due_dates import following, opens
from sites.models import Quantity, System, SystemKind, TestPoint, VisitKind

WEEKS, WEEKS_IN_A_BLOCK = 78, 13
MOVED_TOO_OFTEN = 2
BITS = {kind: 1 << n for n, kind in enumerate(SystemKind.values)}
RESISTANCES = (Quantity.BOND, Quantity.JOINT, Quantity.CONTINUITY)
EARTHS = (Quantity.EARTH, Quantity.EARTH_SYSTEM)
NEEDED = {
    "both": "low-resistance ohmmeter and earth tester",
    "ohmmeter": "low-resistance ohmmeter",
    "earth": "earth tester",
    "unrecorded": "no point is recorded",
    "visual": "none, a visual inspection",
}


@dataclass(slots=True)
class Week:
    """due: how many obligations fall due; of these with_visit; planned: visits that stand; after: load as proposed

    again: how many fall due again
    """

    monday: date
    due: int = 0
    again: int = 0
    with_visit: int = 0
    planned: int = 0
    after: int = 0

    @property
    def sunday(self) -> date:
        return self.monday + timedelta(days=6)

    @property
    def without(self) -> int:
        return self.due - self.with_visit

    @property
    def load(self) -> int:
        """Visits that stand, and what falls due without one."""
        return self.planned + self.without


@dataclass(slots=True)
class Kind:
    """A skill or a kind of instrument, and how often it is asked for, also again, by quarter of a year from now.

    key: what ``asked_for`` is narrowed by
    """

    key: str
    name: str
    blocks: list[int] = field(default_factory=lambda: [0] * (WEEKS // WEEKS_IN_A_BLOCK))

    @property
    def total(self) -> int:
        return sum(self.blocks)


@dataclass(frozen=True, slots=True)
class ByWeek:
    weeks: Sequence[Week]
    flattened: Flattened

    @property
    def due(self) -> int:
        return sum(week.due for week in self.weeks)

    @property
    def again(self) -> int:
        return sum(week.again for week in self.weeks)

    @property
    def planned(self) -> int:
        return sum(week.planned for week in self.weeks)

    @property
    def load(self) -> int:
        return sum(week.load for week in self.weeks)


@dataclass(frozen=True, slots=True)
class Workload(ByWeek):
    skills: Sequence[Kind]
    instruments: Sequence[Kind]


def window(at: datetime) -> tuple[date, date]:
    """The first and the last day that are looked at: eighteen months of whole weeks from this Monday on."""
    monday = monday_of(usual_day(at))
    return monday, monday + WEEK * WEEKS - timedelta(days=1)


def in_window(owed: QuerySet[DueDate], at: datetime) -> QuerySet[DueDate]:
    """Running obligations whose due day lies in the window. Takes rows ``with_today``."""
    return running(owed).filter(due__range=window(at))


def until_its_end(owed: QuerySet[DueDate], at: datetime) -> QuerySet[DueDate]:
    """Running obligations that may be asked for in the window, overdue ones too. Takes rows ``with_today``."""
    return running(owed).filter(due__lte=window(at)[1]).order_by()


class Repeats:
    """The due days of the window that belong to obligations of one rule and due day: its own, and those that follow."""

    def __init__(self, rules: Mapping[int, IntervalRule], at: datetime) -> None:
        self.first, self.last = window(at)
        self.today = usual_day(at)
        self.rules = rules
        self._found: dict[tuple[int, date, date | None], list[date]] = {}

    def again(self, rule: int | None, due: date, ends: date | None) -> list[date]:
        """ends: the last day the rule asks"""
        if rule is None:
            return []
        key = rule, max(due, self.today), ends
        if key not in self._found:
            until = min(self.last, ends or self.last)
            self._found[key] = following(counted(self.rules[rule]), key[1], until)
        return self._found[key]

    def days(self, rule: int | None, due: date, ends: date | None) -> list[date]:
        """Its own due day where it lies in the window, and those that follow."""
        again = self.again(rule, due, ends)
        return [due, *again] if due >= self.first else again


def workload(owed: QuerySet[DueDate], visits: QuerySet[Visit], at: datetime) -> Workload:
    """In five queries. owed: obligations ``with_today``; visits: those of the same places"""
    found, repeats = _by_week(owed, visits, at)
    rows = until_its_end(owed, at)
    return Workload(found.weeks, found.flattened, _skills(rows, repeats), _instruments(rows, repeats))


def by_week(owed: QuerySet[DueDate], visits: QuerySet[Visit], at: datetime) -> ByWeek:
    """The weeks alone, in three queries."""
    return _by_week(owed, visits, at)[0]


def _by_week(owed: QuerySet[DueDate], visits: QuerySet[Visit], at: datetime) -> tuple[ByWeek, Repeats]:
    first, last = window(at)
    rows = until_its_end(owed, at)
    weeks = {first + WEEK * n: Week(first + WEEK * n) for n in range(WEEKS)}
    stands = visits.filter(state__in=OPEN_VISIT, planned_on__range=(first, last)).order_by()
    for day, number in stands.values_list("planned_on").annotate(n=Count("pk")):
        weeks[monday_of(day)].planned += number
    falling: dict[tuple[date, date], int] = defaultdict(int)
    has_visit = Exists(settling_visits().order_by())
    by_day = rows.annotate(has_visit=has_visit).values_list("due", "has_visit", "rule", "applies_until")
    groups_by_day = list(by_day.annotate(n=Count("pk")))
    asking = {rule for _, _, rule, _, _ in groups_by_day if rule is not None}
    repeats = Repeats(IntervalRule.objects.in_bulk(asking), at)
    for due, planned, rule, ends, number in groups_by_day:
        for day in repeats.again(rule, due, ends):
            weeks[monday_of(day)].again += number
        if due < first:
            continue
        weeks[monday_of(due)].due += number
        if planned:
            weeks[monday_of(due)].with_visit += number
        else:
            falling[opens_on(due, repeats.rules.get(rule)), due] += number
    groups = [Falling(earliest, due, number) for (earliest, due), number in sorted(falling.items())]
    flat = bring_forward(
        groups, today=usual_day(at), weeks=WEEKS, planned=_not_to_be_moved(weeks, groups, usual_day(at))
    )
    for monday, week in weeks.items():
        week.after = flat.after[monday]
    return ByWeek(list(weeks.values()), flat), repeats


def opens_on(due: date, rule: IntervalRule | None) -> date:
    """The first day on which an inspection counts for a due day."""
    if rule is None:
        return due
    seasons = season_months(rule.seasons)
    return opens(due, basis=rule.basis, early_days=rule.early_days, period=rule.period, seasons=seasons)


def _not_to_be_moved(weeks: Mapping[date, Week], groups: Iterable[Falling], today: date) -> dict[date, int]:
    """Visits that stand, and what fell due earlier this week: the load that stays where it is."""
    fixed = {monday: week.planned for monday, week in weeks.items()}
    for each in groups:
        if each.due < today:
            fixed[monday_of(each.due)] += each.number
    return fixed


def with_skill(rows: QuerySet[DueDate]) -> QuerySet[Any]:
    """With ``held``, the kinds of system at the structure as a sum of ``BITS``."""
    bit = Case(
        *(When(kind=kind, then=Value(value)) for kind, value in BITS.items()), output_field=IntegerField()
    )
    kinds = System.objects.filter(structure=OuterRef("structure")).order_by().values("structure")
    return rows.annotate(
        held=Coalesce(Subquery(kinds.annotate(held=Sum(bit, distinct=True)).values("held")), 0)
    )


def skill_key(held: int, demand: str) -> str:
    return f"{held}-{demand}"


def skill_name(held: int, demand: str) -> str:
    names = [kind for kind, value in BITS.items() if held & value] or ["no system is recorded"]
    return f"{_listed(names)}: {demand}"


def skills_of(rows: QuerySet[DueDate]) -> list[tuple[str, str]]:
    """(key, name) of each skill that these obligations ask for, in one query."""
    found = with_skill(rows).values_list("held", "demand").distinct().order_by("held", "demand")
    return [(skill_key(held, demand), skill_name(held, demand)) for held, demand in found]


def _skills(rows: QuerySet[DueDate], repeats: Repeats) -> list[Kind]:
    """Kinds of system at the structure, together, with the kind of visit: each obligation in one line."""
    found: dict[str, Kind] = {}
    grouped = with_skill(rows).values_list("due", "rule", "applies_until", "demand", "held")
    for due, rule, ends, demand, held, number in grouped.annotate(n=Count("pk")):
        key = skill_key(held, demand)
        kind = found.setdefault(key, Kind(key, skill_name(held, demand)))
        _count(kind, repeats.days(rule, due, ends), repeats.first, number)
    return _most_first(found)


def with_instrument(rows: QuerySet[DueDate]) -> QuerySet[Any]:
    """With ``instrument``, a key of ``NEEDED``: what the structure's points are read with; looking needs none."""
    points = TestPoint.objects.filter(structure=OuterRef("structure"), retired_on=None).order_by()
    ohm, earth = Exists(points.filter(quantity__in=RESISTANCES)), Exists(points.filter(quantity__in=EARTHS))
    return rows.annotate(
        instrument=Case(
            When(demand="visual", then=Value("visual")),
            When(ohm & earth, then=Value("both")),
            When(ohm, then=Value("ohmmeter")),
            When(earth, then=Value("earth")),
            default=Value("unrecorded"),
            output_field=CharField(),
        )
    )


def _instruments(rows: QuerySet[DueDate], repeats: Repeats) -> list[Kind]:
    """Each obligation in one line."""
    found: dict[str, Kind] = {}
    grouped = with_instrument(rows).values_list("due", "rule", "applies_until", "instrument")
    for due, rule, ends, key, number in grouped.annotate(n=Count("pk")):
        kind = found.setdefault(key, Kind(key, NEEDED[key]))
        _count(kind, repeats.days(rule, due, ends), repeats.first, number)
    return _most_first(found)


def _count(kind: Kind, days: Iterable[date], first: date, number: int) -> None:
    for day in days:
        kind.blocks[(day - first).days // (7 * WEEKS_IN_A_BLOCK)] += number


def _most_first(found: Mapping[str, Kind]) -> list[Kind]:
    """Those that are asked for at all within the window."""
    return sorted((one for one in found.values() if one.total), key=lambda one: (-one.total, one.name))


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def booked(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Planned visits, the next one first, with who goes as ``visit.goes``."""
    return _with_who_goes(visits.filter(state=VisitState.PLANNED))


def standing(visits: QuerySet[Visit], days: tuple[date, date]) -> QuerySet[Visit]:
    """Visits that stand for these days, planned or begun, as ``workload`` counts them."""
    return _with_who_goes(visits.filter(state__in=OPEN_VISIT, planned_on__range=days))


def _with_who_goes(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    return visits.prefetch_related("inspectors__person").order_by("planned_on", "pk")


def moved_often(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Visits moved more than twice, with ``moves``, the latest planned first."""
    moves = PlannedDay.objects.exclude(reason="").order_by().values("visit").annotate(n=Count("pk"))
    own = moves.filter(visit=OuterRef("pk")).values("n")
    often = moves.filter(n__gt=MOVED_TOO_OFTEN).values("visit")
    return visits.filter(pk__in=often).annotate(moves=Subquery(own)).order_by("-planned_on", "-pk")


def planned_late(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Planned visits whose day lies after a due day that they would settle, with ``first_due``.

    What a kind settles is told as in ``due_list.settling_visits``.
    """
    owed: QuerySet[Any] = DueDate.objects.filter(
        Q(applies_until__isnull=True) | Q(applies_until__gte=OuterRef("planned_on")),
        structure=OuterRef("structure"), suspended=False, due__lt=OuterRef("planned_on"),
    ).order_by("due")  # fmt: skip
    first_due = Case(
        When(kind=VisitKind.COMPLETE, then=Subquery(owed.values("due")[:1])),
        When(kind=VisitKind.FIRST, then=Subquery(owed.filter(event__isnull=True).values("due")[:1])),
        When(kind=VisitKind.AFTER_EVENT, then=Subquery(owed.filter(event__isnull=False).values("due")[:1])),
        default=Subquery(owed.filter(demand=OuterRef("kind")).values("due")[:1]),
    )
    rows = visits.filter(state=VisitState.PLANNED).annotate(first_due=first_due)
    return rows.filter(first_due__isnull=False).order_by("planned_on", "pk")


def without_event(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Planned after-event visits where no event asks for an inspection (any longer), the next first."""
    asking = DueDate.objects.filter(structure=OuterRef("structure"), event__isnull=False)
    rows = visits.filter(state=VisitState.PLANNED, kind=VisitKind.AFTER_EVENT)
    return rows.filter(~Exists(asking.order_by())).order_by("planned_on", "pk")
