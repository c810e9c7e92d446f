"""Lists of sites, and of the structures at one: a page of keys first, then what that page's rows show."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Any

from django.db.models import Case, Count, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Value, When
from django.db.models.functions import Coalesce

from inspections.local_days import local_day
from inspections.models import DueDate, NoneRequired, Visit
from inspections.standing_words import Owed, owed_on
from sites.models import Site, Structure, TestPoint
from sites.tables.sorting import SortedInPages


@dataclass(frozen=True, slots=True)
class SiteRow:
    site: Site
    structures: int
    overdue: int
    earliest: Owed | None


def paged_sites(sites: QuerySet[Site], at: datetime) -> SortedInPages:
    """Sites by client and name, with what is owed there first."""
    usual = sites.order_by("client__name", "client", "name", "pk")
    return SortedInPages(
        usual, partial(_page_of_sites, at=at), to_sort=lambda: _sites_with_figures(sites, at)
    )


def _sites_with_figures(sites: QuerySet[Site], at: datetime) -> QuerySet[Any]:
    """Adds ``structure_count``, ``overdue_count`` and of what is due first ``earliest_id`` and ``earliest_due``."""
    today = OuterRef("today")
    running = DueDate.objects.filter(site=OuterRef("pk"), suspended=False).filter(
        Q(applies_until__isnull=True) | Q(applies_until__gte=today)
    )
    overdue = running.filter(due__lt=today, grace_until__lt=today)
    earliest = running.order_by("due", "pk")
    return sites.annotate(today=local_day("time_zone", at)).annotate(
        structure_count=number_of(Structure.objects.filter(site=OuterRef("pk")), "site"),
        overdue_count=number_of(overdue, "site"),
        earliest_id=Subquery(earliest.values("pk")[:1]),
        earliest_due=Subquery(earliest.values("due")[:1]),
    )


def _page_of_sites(sites: QuerySet[Site], start: int, stop: int, *, at: datetime) -> list[SiteRow]:
    ids = list(sites.values_list("pk", flat=True)[start:stop])
    rows = _sites_with_figures(Site.objects.filter(pk__in=ids).select_related("client"), at)
    found = in_order_of(ids, rows)
    dues = DueDate.objects.in_bulk([row.earliest_id for row in found if row.earliest_id])
    return [
        SiteRow(row, row.structure_count, row.overdue_count, _owed(dues.get(row.earliest_id), row.today))
        for row in found
    ]


@dataclass(frozen=True, slots=True)
class StructureRow:
    """owed: the longest overdue, else what governs, else what would if it ran; None where nothing was ever asked"""

    structure: Structure
    points: int
    owed: Owed | None
    last_visit: Visit | None
    none_required: bool = False


def paged_structures(site: Site, today: date) -> SortedInPages:
    """Structures of a site by the day that each shows, those that owe nothing last."""
    rows = _structures_with_figures(Structure.objects.filter(site=site), today)
    usual = rows.order_by(F("next_due").asc(nulls_last=True), "name", "pk")
    return SortedInPages(usual, partial(_page_of_structures, today=today))


def _structures_with_figures(structures: QuerySet[Structure], today: date) -> QuerySet[Any]:
    """Adds ``point_count``, ``next_due`` (None while nothing runs), and of what is owed and the last visit the columns.

    What is overdue stands before what governs: the earliest due day may be in grace.
    """
    asked = DueDate.objects.filter(structure=OuterRef("pk"))
    runs = Q(applies_until__isnull=True) | Q(applies_until__gte=today)
    late = asked.filter(runs, suspended=False, grace_until__lt=today)
    is_late = When(runs, suspended=False, grace_until__lt=today, then=Value(0))
    owed = asked.annotate(later=Case(is_late, default=Value(1), output_field=IntegerField()))
    owed = owed.order_by("later", Case(When(later=0, then="due")), "-governs", "due", "pk")
    done = Visit.objects.filter(structure=OuterRef("pk"), on_site_until__isnull=False)
    last = done.order_by("-on_site_until", "-pk")
    points = TestPoint.objects.filter(structure=OuterRef("pk")).standing_on(today)
    return structures.annotate(
        point_count=number_of(points, "structure"),
        next_due=Coalesce(
            Subquery(late.order_by("due", "pk").values("due")[:1]),
            Subquery(asked.filter(governs=True).values("due")[:1]),
        ),
        owed_id=Subquery(owed.values("pk")[:1]),
        owed_demand=Subquery(owed.values("demand")[:1]),
        owed_author=Subquery(owed.values("author")[:1]),
        last_visit_id=Subquery(last.values("pk")[:1]),
        last_visit_at=Subquery(last.values("on_site_until")[:1]),
        none_required_now=none_required_now(),
    )


def _page_of_structures(rows: QuerySet[Any], start: int, stop: int, *, today: date) -> list[StructureRow]:
    ids = list(rows.values_list("pk", flat=True)[start:stop])
    found = in_order_of(ids, _structures_with_figures(Structure.objects.filter(pk__in=ids), today))
    dues = DueDate.objects.in_bulk([row.owed_id for row in found if row.owed_id])
    visits = Visit.objects.in_bulk([row.last_visit_id for row in found if row.last_visit_id])
    return [
        StructureRow(
            row, row.point_count, _owed(dues.get(row.owed_id), today), visits.get(row.last_visit_id),
            row.none_required_now,
        )
        for row in found
    ]  # fmt: skip


def none_required_now() -> Coalesce:
    """Whether somebody answers for it that the structure needs no inspection. For querysets of structures."""
    said = NoneRequired.objects.latest_of(OuterRef("pk")).values("stands")[:1]
    return Coalesce(Subquery(said), Value(False))


def _owed(row: DueDate | None, today: date) -> Owed | None:
    return owed_on(today, row) if row else None


def number_of(rows: QuerySet, by: str) -> Coalesce:
    """How many of the rows belong to the outer one; by: the column that joins them."""
    count = rows.order_by().values(by).annotate(number=Count("pk")).values("number")
    return Coalesce(Subquery(count, output_field=IntegerField()), Value(0))


def in_order_of(ids: Iterable[int], rows: Iterable[Any]) -> list[Any]:
    """The rows in the order of the keys."""
    by_id = {row.pk: row for row in rows}
    return [by_id[pk] for pk in ids if pk in by_id]
