"""Lists of sites, and of the structures at one: a page of keys first, then what that page's rows show."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Count, F, IntegerField, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce

from inspections.local_days import local_day
from inspections.models import DueDate, NoneRequired, Visit
from inspections.standing_words import Owed, owed_on
from sites.models import Site, Structure, TestPoint


@dataclass(frozen=True, slots=True)
class SiteRow:
    site: Site
    structures: int
    overdue: int
    earliest: Owed | None


def page_of_sites(sites: QuerySet[Site], at: datetime, start: int, stop: int) -> list[SiteRow]:
    """Sites by client and name, with what is owed there first."""
    ids = list(
        sites.order_by("client__name", "client", "name", "pk").values_list("pk", flat=True)[start:stop]
    )
    today = OuterRef("today")
    running = DueDate.objects.filter(site=OuterRef("pk"), suspended=False).filter(
        Q(applies_until__isnull=True) | Q(applies_until__gte=today)
    )
    overdue = running.filter(due__lt=today, grace_until__lt=today)
    rows = (
        Site.objects.filter(pk__in=ids)
        .select_related("client")
        .annotate(today=local_day("time_zone", at))
        .annotate(
            structure_count=number_of(Structure.objects.filter(site=OuterRef("pk")), "site"),
            overdue_count=number_of(overdue, "site"),
            earliest_id=Subquery(running.order_by("due", "pk").values("pk")[:1]),
        )
    )
    found = in_order_of(ids, rows)
    dues = DueDate.objects.in_bulk([row.earliest_id for row in found if row.earliest_id])
    return [
        SiteRow(row, row.structure_count, row.overdue_count, _owed(dues.get(row.earliest_id), row.today))
        for row in found
    ]


@dataclass(frozen=True, slots=True)
class StructureRow:
    """owed: what governs, else what would if it ran; None where nothing was ever asked"""

    structure: Structure
    points: int
    owed: Owed | None
    last_visit: Visit | None
    none_required: bool = False


def page_of_structures(site: Site, today: date, start: int, stop: int) -> list[StructureRow]:
    """Structures of a site, the earliest due first and those that owe nothing last."""
    asked = DueDate.objects.filter(structure=OuterRef("pk"))
    governing = asked.filter(governs=True)
    ordered = Structure.objects.filter(site=site).annotate(next_due=Subquery(governing.values("due")[:1]))
    ordered = ordered.order_by(F("next_due").asc(nulls_last=True), "name", "pk")
    ids = list(ordered.values_list("pk", flat=True)[start:stop])
    done = Visit.objects.filter(structure=OuterRef("pk"), on_site_until__isnull=False)
    points = TestPoint.objects.filter(structure=OuterRef("pk")).standing_on(today)
    rows = Structure.objects.filter(pk__in=ids).annotate(
        point_count=number_of(points, "structure"),
        owed_id=Subquery(asked.order_by("-governs", "due", "pk").values("pk")[:1]),
        last_visit_id=Subquery(done.order_by("-on_site_until", "-pk").values("pk")[:1]),
        none_required_now=none_required_now(),
    )
    found = in_order_of(ids, rows)
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
