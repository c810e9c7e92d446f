"""The buildings of a portfolio, those first that need something: open defects, overdue, due soon, then by name."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from typing import Any, NamedTuple

from django.db.models import Exists, Min, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.urls import NoReverseMatch, reverse

from inspections import coverage, defect_list, due_list, looking
from inspections.coverage import Covered
from inspections.due_list import FEW_NAMED
from inspections.local_days import local_day
from inspections.looking import Looked
from inspections.models import Defect, DueDate, Visit
from inspections.place_lists import in_order_of, none_required_now, number_of
from inspections.rules.defects import State
from inspections.standing_words import Owed, owed_on
from sites.models import WHOLE_FIRM_ROLES, Person, Structure, VisitKind

# Visits that look at everything; what a later visit of another kind read stands beside theirs.
WHOLE = (VisitKind.COMPLETE, VisitKind.FIRST)
MOST_URGENT = 1
STATES = ("urgent", "defects", "overdue", "soon", "stopped", "nothing")


def open_defects(at: datetime) -> QuerySet[Any]:
    """Defects that somebody must still act on, with their state: neither ended nor accepted until a day."""
    return defect_list.with_state(Defect.objects.order_by(), at).filter(state__in=defect_list.TO_ACT_ON)


def urgent(defects: QuerySet[Any]) -> QuerySet[Any]:
    """Told as dangerous, or with the most urgent word of their scheme and nothing done yet."""
    return defects.filter(Q(is_danger=True) | Q(urgency__rank=MOST_URGENT, state=State.OPEN))


def is_urgent(defect: Any) -> bool:
    """As ``urgent``, for one that was fetched with its state."""
    return defect.is_danger or (defect.urgency.rank == MOST_URGENT and defect.state == State.OPEN)


def seen_by(person: Person, memberships: Iterable[tuple[int, str]], *, on: date) -> QuerySet[Structure]:
    """Structures this person may see; whoever sees the whole of their one firm is answered by the firm.

    memberships: (firm, role) of those in force on that day
    """
    held = list(memberships)
    firms = {firm for firm, _ in held}
    if len(firms) == 1 and any(role in WHOLE_FIRM_ROLES for _, role in held):
        return Structure.objects.filter(site__client__firm=firms.pop())
    return Structure.objects.visible_to(person, on=on)


@dataclass(frozen=True)
class Portfolio:
    """The structures asked for, of those that the person may see, by what is owed and found at them."""

    structures: QuerySet[Structure]
    at: datetime

    def _with(self, rows: QuerySet) -> Exists:
        return Exists(rows.order_by().filter(structure=OuterRef("pk")))

    @cached_property
    def _owed(self) -> QuerySet[DueDate]:
        """Only ever asked of a structure, so behind the same wall as that. To name the firm once more would lead a
        database without statistics to walk all of the firm's obligations for every structure."""
        return due_list.with_today(DueDate.objects.all(), self.at)

    @cached_property
    def _urgent(self) -> QuerySet[Defect]:
        """Few are looked up once and then named: asked for anew in every statement of the page, their state, with every
        time zone in it, costs more to put together than all the rest."""
        found = urgent(open_defects(self.at)).filter(structure__in=self.structures.order_by().values("pk"))
        few = list(found.order_by().values_list("pk", flat=True)[: FEW_NAMED + 1])
        return Defect.objects.filter(pk__in=few) if len(few) <= FEW_NAMED else found

    @property
    def _overdue(self) -> QuerySet[DueDate]:
        return due_list.overdue(self._owed, self.at)

    @property
    def _soon(self) -> QuerySet[DueDate]:
        return due_list.due_soon(self._owed)

    def with_urgent_defects(self) -> QuerySet[Structure]:
        """The longest open first."""
        oldest = self._urgent.filter(structure=OuterRef("pk")).order_by().values("structure")
        first = Subquery(oldest.annotate(first=Min("found_at")).values("first"))
        return self.structures.filter(self._with(self._urgent)).annotate(first=first).order_by("first", "pk")

    def overdue(self) -> QuerySet[Structure]:
        return self.all_overdue().filter(~self._with(self._urgent))

    def all_overdue(self) -> QuerySet[Structure]:
        """The longest overdue first, whatever else is wrong there."""
        return self._by_due(self._overdue)

    def due_soon(self) -> QuerySet[Structure]:
        return self._by_due(self._soon).filter(~self._with(self._urgent), ~self._with(self._overdue))

    def others(self) -> QuerySet[Structure]:
        """What needs nothing now, by name."""
        needing = (self._urgent, self._overdue, self._soon)
        return self.structures.filter(*(~self._with(rows) for rows in needing)).order_by("name", "pk")

    def _by_due(self, rows: QuerySet[DueDate]) -> QuerySet[Structure]:
        first = rows.order_by().filter(structure=OuterRef("pk")).values("structure")
        earliest = Subquery(first.annotate(first=Min("due")).values("first"))
        return self.structures.filter(self._with(rows)).annotate(first=earliest).order_by("first", "pk")

    def sections(self, state: str) -> list[QuerySet[Structure]]:
        """What a choice of state shows, one after the other. state: one of ``STATES``, or "" for all"""
        running = due_list.running(self._owed)
        narrowed: dict[str, list[QuerySet[Structure]]] = {
            "urgent": [self.with_urgent_defects()],
            "defects": [self.structures.filter(self._with(open_defects(self.at))).order_by("name", "pk")],
            "overdue": [self.all_overdue()],
            "soon": [self._by_due(self._soon)],
            "stopped": [
                self.structures.filter(self._with(due_list.stopped(self._owed))).order_by("name", "pk")
            ],
            "nothing": [self.structures.filter(~self._with(running)).order_by("name", "pk")],
        }
        return narrowed.get(state) or [
            self.with_urgent_defects(), self.overdue(), self.due_soon(), self.others()
        ]  # fmt: skip


class LastReport(NamedTuple):
    """The newest issue of a structure's reports. has_file: whether it can be downloaded yet

    withdrawn: nobody is to rely on it any longer
    """

    pk: int
    number: int
    issue: int
    issued_at: datetime
    has_file: bool
    withdrawn: bool


@dataclass(slots=True)
class Building:
    """One row of the portfolio, with everything it shows.

    today: at its site; owed: what runs, by due day; stopped: what is suspended or has ended
    defects: how many are to be acted on; worst: of them the gravest, with its state
    planned: the open visit that may settle what is next; beside: one that settles something else, where none does
    last: the last visit that looked at everything; since_then: later visits of other kinds, the last that read points
    and the last of all
    none_required: somebody answers for it that it needs no inspection
    """

    structure: Structure
    today: date
    owed: list[Owed] = field(default_factory=list)
    stopped: list[Owed] = field(default_factory=list)
    defects: int = 0
    worst: Any = None
    last: Visit | None = None
    since_then: list[Visit] = field(default_factory=list)
    covered: dict[int, Covered] = field(default_factory=dict)
    looked: dict[int, Looked] = field(default_factory=dict)
    planned: Visit | None = None
    beside: Visit | None = None
    report: LastReport | None = None
    none_required: bool = False

    @property
    def next(self) -> Owed | None:
        """What to arrange first: what governs, unless something with less grace is overdue before it."""
        return _next(self.owed)

    @property
    def group(self) -> str:
        if self.worst is not None and is_urgent(self.worst):
            return "Open defects of the most urgent kind"
        state = self.next.state if self.next else ""
        if state == "overdue":
            return "Overdue"
        return "Due within 60 days" if state in ("in grace", "due", "due soon") else "The others, by name"


def _next(owed: Sequence[Owed]) -> Owed | None:
    late = [one for one in owed if one.state == "overdue"]
    return next(iter(late or owed), None)


def page_of_buildings(
    parts: Sequence[QuerySet[Structure]] | QuerySet[Structure], start: int, stop: int, *, at: datetime
) -> list[Building]:
    """Rows start to stop of the parts laid end to end, dressed in a constant number of queries."""
    ids: list[int] = []
    for part in [parts] if isinstance(parts, QuerySet) else parts:
        found = list(part.values_list("pk", flat=True)[start:stop])
        ids += found
        length = start + len(found) if found or start == 0 else part.count()
        start, stop = max(0, start - length), stop - length
        if stop <= 0:
            break
    return _dressed(ids, at)


def to_sort(structures: QuerySet[Structure], at: datetime) -> QuerySet[Any]:
    """Adds what the columns of a row sort by: ``next_due``, ``defect_count``, ``last_at``, ``reported_at``."""
    own = {"structure": OuterRef("pk")}
    ended = Visit.objects.filter(**own, on_site_until__isnull=False).order_by("-on_site_until", "-pk")
    reported = Visit.objects.filter(**own, issues__isnull=False).order_by("-issues__issued_at", "-issues__pk")
    running = DueDate.objects.filter(**own, suspended=False).filter(
        Q(applies_until__isnull=True) | Q(applies_until__gte=OuterRef("today"))
    )
    late = running.filter(grace_until__lt=OuterRef("today")).order_by("due", "pk")
    return structures.annotate(today=local_day("site__time_zone", at)).annotate(
        next_due=Coalesce(
            Subquery(late.values("due")[:1]), Subquery(running.order_by("due", "pk").values("due")[:1])
        ),
        defect_count=number_of(open_defects(at).filter(**own), "structure"),
        last_at=Coalesce(
            Subquery(ended.filter(kind__in=WHOLE).values("on_site_until")[:1]),
            Subquery(ended.values("on_site_until")[:1]),
        ),
        reported_at=Subquery(reported.values("issues__issued_at")[:1]),
    )


def _dressed(ids: Sequence[int], at: datetime) -> list[Building]:
    own = {"structure": OuterRef("pk")}
    ended = Visit.objects.filter(**own, on_site_until__isnull=False).order_by("-on_site_until", "-pk")
    reported = Visit.objects.filter(**own, issues__isnull=False).order_by("-issues__issued_at", "-issues__pk")
    worst = defect_list.by_consequence(open_defects(at).filter(**own))
    rows = (
        Structure.objects.filter(pk__in=ids)
        .select_related("site__client")
        .annotate(
            today=local_day("site__time_zone", at),
            defect_count=number_of(open_defects(at).filter(**own), "structure"),
            worst_id=Subquery(worst.values("pk")[:1]),
            last_id=Subquery(ended.values("pk")[:1]),
            whole_id=Subquery(ended.filter(kind__in=WHOLE).values("pk")[:1]),
            read_id=Subquery(ended.exclude(kind__in=coverage.WITHOUT_READINGS).values("pk")[:1]),
            planned_id=Subquery(due_list.open_visits(OuterRef("pk")).values("pk")[:1]),
            none_required_now=none_required_now(),
            report_id=Subquery(reported.values("issues__pk")[:1]),
        )
    )
    found = in_order_of(ids, rows)
    owed = _owed(ids, {row.pk: row.today for row in found})
    running = {row.pk: [one for one in owed[row.pk] if one.runs] for row in found}
    nearest = {row.pk: _next(running[row.pk]) for row in found}
    settling = {pk: one.visit for pk, one in nearest.items() if one is not None and one.visit}
    visit_ids = {pk for row in found for pk in (row.last_id, row.whole_id, row.read_id, row.planned_id) if pk}
    visit_ids |= set(settling.values())
    visits = Visit.objects.select_related("structure__site").in_bulk(list(visit_ids))
    over = [visit for visit in visits.values() if visit.on_site_until]
    covered, looked = coverage.of_visits(over), looking.of_visits(over)
    defects = (
        open_defects(at).select_related("urgency", "visit").in_bulk(_given(row.worst_id for row in found))
    )
    reports = _reports(_given(row.report_id for row in found))
    return [
        Building(
            structure=row,
            today=row.today,
            owed=running[row.pk],
            stopped=[one for one in owed[row.pk] if not one.runs],
            defects=row.defect_count,
            worst=defects.get(row.worst_id),
            last=visits.get(row.whole_id or row.last_id),
            since_then=_since(row, visits),
            covered=covered,
            looked=looked,
            planned=visits.get(settling.get(row.pk)),
            beside=visits.get(row.planned_id) if row.pk not in settling else None,
            report=reports.get(row.report_id),
            none_required=row.none_required_now,
        )
        for row in found
    ]


def _since(row: Any, visits: dict[int, Visit]) -> list[Visit]:
    """What came after the visit that looked at everything: the last that read points, then the last of all."""
    if not row.whole_id:
        return []
    later = dict.fromkeys(pk for pk in (row.read_id, row.last_id) if pk and pk != row.whole_id)
    return [visits[pk] for pk in later]


def _given(ids: Iterable[int | None]) -> list[int]:
    return [pk for pk in ids if pk]


def _owed(ids: Sequence[int], today: dict[int, date]) -> dict[int, list[Owed]]:
    found: dict[int, list[Owed]] = defaultdict(list)
    settled_by = Subquery(due_list.settling_visits().values("pk")[:1])
    for row in (
        DueDate.objects.filter(structure__in=ids).annotate(settled_by=settled_by).order_by("due", "pk")
    ):
        found[row.structure_id].append(owed_on(today[row.structure_id], row, visit=row.settled_by))
    return found


def _reports(ids: Sequence[int]) -> dict[int, LastReport]:
    """The reports' app stands above this one; its rows are reached through the visit's own relation."""
    columns = (
        "issues__pk", "issues__number", "issues__issue", "issues__issued_at", "issues__file__pk",
        "issues__withdrawal__pk",
    )  # fmt: skip
    rows: Any = Visit.objects.filter(issues__pk__in=ids).order_by().values_list(*columns)
    return {
        pk: LastReport(pk, number, issue, at, file is not None, withdrawn is not None)
        for pk, number, issue, at, file, withdrawn in rows
        if pk in ids
    }


def address_of(defect: Defect) -> str:
    """Where a defect is seen: its own page, where this installation has one, else its visit."""
    try:
        return reverse("defect", args=[defect.pk])
    except NoReverseMatch:
        return reverse("visit", args=[defect.visit_id]) + "#defects"
