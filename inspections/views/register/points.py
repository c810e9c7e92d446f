"""A test point's life in the register: set up, moved, renumbered, retired."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inspections.actions import register as derived
from inspections.forms.register import PointForm, PointPlaceForm, RenumberForm, RetireForm
from inspections.forms.times import shown_day
from inspections.views.register.clients import EDIT
from inspections.views.register.editing import Page, answer, data_of, of_structure, require_change
from inspections.views.register.parts import WITH_PLACE, of_parts
from sites.actions import register
from sites.models import Part, TestPoint
from sites.views.signed_in import signed_in


@require_http_methods(EDIT)
def point_new(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    part = get_object_or_404(
        Part.objects.visible_to(signed_in(request), on=at.date()).select_related(WITH_PLACE), pk=pk
    )
    require_change(request, part.structure.site.client.firm_id, at.date())
    page = Page(
        f"Add a test point on {part.name}", "Add the test point", of_parts(part.structure),
        reverse("part", args=[pk]),
        "What is measured at a point stays as it is entered here: readings are judged by it.",
    )  # fmt: skip
    return answer(
        request, PointForm(data_of(request)), page,
        lambda said: derived.create_point(part, **said, by=signed_in(request), at=at),
        done=lambda row: (f"Point {row.number} is on record.", reverse("part", args=[pk])),
        zone=ZoneInfo(part.structure.site.time_zone),
    )  # fmt: skip


@require_http_methods(EDIT)
def point_change(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    point, page = _point(request, pk, at, "Say where point {} is", "Record the place")
    return answer(
        request, PointPlaceForm(data_of(request), now=point), page,
        lambda said: register.describe_point(point, **said, by=signed_in(request), at=at),
        done=lambda row: (f"The place of point {row.number} is on record.", page.back),
        zone=ZoneInfo(point.structure.site.time_zone),
    )  # fmt: skip


@require_http_methods(EDIT)
def point_renumber(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    point, page = _point(
        request, pk, at, "Renumber point {}", "Renumber the point",
        "The point stays the same: its readings stay with it, and it is found by the old number too.",
    )  # fmt: skip
    was = point.number
    return answer(
        request, RenumberForm(data_of(request)), page,
        lambda said: derived.renumber_point(point, **said, by=signed_in(request), at=at),
        done=lambda row: (f"Point {was} is now {row.number}.", page.back),
        zone=ZoneInfo(point.structure.site.time_zone),
    )  # fmt: skip


@require_http_methods(EDIT)
def point_retire(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    point, page = _point(
        request, pk, at, "Retire point {}", "Retire the point",
        "From that day on nobody asks for it. Its readings stay on record.",
    )  # fmt: skip
    return answer(
        request, RetireForm(data_of(request)), page,
        lambda said: derived.retire_point(point, **said, by=signed_in(request), at=at),
        done=lambda row: (
            f"Point {row.number} is retired from {shown_day(row.retired_on or at.date())} on.",
            page.back,
        ),
        zone=ZoneInfo(point.structure.site.time_zone),
    )  # fmt: skip


def _point(
    request: HttpRequest, pk: int, at: datetime, heading: str, button: str, lede: str = ""
) -> tuple[TestPoint, Page]:
    known = TestPoint.objects.visible_to(signed_in(request), on=at.date())
    point = get_object_or_404(known.select_related("part", WITH_PLACE), pk=pk)
    require_change(request, point.structure.site.client.firm_id, at.date())
    back = reverse("point", args=[pk])
    trail = [*of_structure(point.structure), (f"Point {point.number}", back)]
    return point, Page(heading.format(point.number), button, trail, back, lede)
