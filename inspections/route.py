"""The points of a visit in the order of the route, and how each of them stands."""

from dataclasses import dataclass

from django.db.models import OuterRef, Subquery
from django.http import HttpRequest

from inspections import coverage
from inspections.models import NoReading, Verdict
from inspections.tables.visits import RouteTable
from sites.models import TestPoint
from sites.tables import understood
from sites.tables.paged import FetchedInPages, paginate

POINTS_A_PAGE = 100


@dataclass(frozen=True, slots=True)
class RouteRow:
    """outcome: what its reading (a key) came to; reason: why it was not read; neither: still open; here: entered now"""

    point: TestPoint
    outcome: str
    reading: int | None
    reason: str
    here: bool


def route_page(request: HttpRequest, page: object, here: TestPoint) -> RouteTable:
    """A page of the route in one query; its last value is not on it until this visit's own has been entered."""
    visit, day = page.visit, page.day  # type: ignore[attr-defined]
    verdicts = Verdict.objects.filter(
        reading__in=visit.readings.standing().filter(point=OuterRef(OuterRef("pk"))).values("pk")
    )
    reasons = NoReading.objects.standing().filter(visit=visit, point=OuterRef("pk")).order_by("-pk")
    points = coverage.points_asked(visit, day).annotate(
        outcome_=Subquery(verdicts.values("outcome")[:1]),
        reading_=Subquery(verdicts.values("reading")[:1]),
        reason_=Subquery(reasons.values("reason")[:1]),
    )

    def fetch(start: int, stop: int) -> list[RouteRow]:
        return [
            RouteRow(
                point,
                point.outcome_ or "",
                point.reading_,
                "" if point.outcome_ else point.reason_ or "",
                point == here,
            )
            for point in points[start:stop]
        ]

    table = RouteTable(FetchedInPages(fetch), visit=visit, prefix="p-")
    paginate(table, request, per_page=POINTS_A_PAGE)
    understood.names(request, table, also=["after"])
    return table
