"""Which points a visit is to read, and how each of them ended."""

from datetime import date

from django.db.models import Exists, OuterRef, QuerySet

from inspections.models import NoReading, Reading, Visit
from sites.models import TestPoint, VisitKind

WITHOUT_READINGS = (VisitKind.VISUAL, VisitKind.NO_ACCESS)


def points_asked(visit: Visit, day: date) -> QuerySet[TestPoint]:
    """The points a visit is to read: those listed for it, else all standing on that day; none at a visual visit."""
    if visit.kind in WITHOUT_READINGS:
        return TestPoint.objects.none()
    points = TestPoint.objects.filter(structure=visit.structure_id).standing_on(day)
    if visit.listed_points.exists():
        points = points.filter(pk__in=visit.listed_points.values("point"))
    return points


def points_without_outcome(visit: Visit, day: date) -> QuerySet[TestPoint]:
    """Asked points with neither a standing reading nor a standing reason."""
    read = Reading.objects.standing().filter(visit=visit, point=OuterRef("pk"))
    explained = NoReading.objects.standing().filter(visit=visit, point=OuterRef("pk"))
    return points_asked(visit, day).filter(~Exists(read), ~Exists(explained))
