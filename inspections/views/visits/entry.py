"""Entering a visit's readings point by point, in the order of the route; and correcting one that stands."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inspections import coverage, evidence
from inspections.actions import readings
from inspections.actions.readings import EntryRefused
from inspections.forms.entry import CorrectionForm, NotReadForm, ReadingForm, Typed, as_typed, settings_of
from inspections.models import InstrumentRange, NoReading, Reading, Verdict, Visit, VisitState
from inspections.route import route_page
from inspections.tables import figures
from inspections.views.visits.visit import REFUSED, VisitPage, found
from inspections.visit_rights import acts_at
from sites import access
from sites.models import TestPoint
from sites.views.signed_in import signed_in


def _open_to(request: HttpRequest, pk: int, at: datetime) -> Visit:
    visit = found(request, pk, at)
    access.require(access.ENTER in acts_at(signed_in(request), visit, on=at.date()))
    return visit


@require_safe
def enter(request: HttpRequest, pk: int) -> HttpResponse:
    """To the first point that is still open."""
    at = timezone.now()
    visit = _open_to(request, pk, at)
    point = _next_open(VisitPage(request, visit, at), "")
    if visit.state != VisitState.ON_SITE or point is None:
        return _back(request, visit)
    return redirect("visit-point", visit.pk, point.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def enter_point(request: HttpRequest, pk: int, point: int) -> HttpResponse:
    """One point: its reading is typed here, and judged at once."""
    at = timezone.now()
    page = VisitPage(request, _open_to(request, pk, at), at)
    place = _asked(page, point)
    if page.visit.state != VisitState.ON_SITE:
        return _back(request, page.visit)
    if request.method != "POST":
        return _show(request, page, place)
    form = ReadingForm(request.POST, visit=page.visit, point=place, at=at, ranges=ranges_of(page.visit))
    if not form.is_valid():
        return _show(request, page, place, reading=form)
    try:
        row = readings.record(page.visit, [form.entry], by=signed_in(request), at=at)[0]  # type: ignore[list-item]
    except EntryRefused as refused:
        form.add_error(None, str(refused))
        return _show(request, page, place, reading=form)
    return _onward(page, place, f"?after={row.pk}")


@require_POST
def enter_reason(request: HttpRequest, pk: int, point: int) -> HttpResponse:
    """One point: why it is not read."""
    at = timezone.now()
    page = VisitPage(request, _open_to(request, pk, at), at)
    place = _asked(page, point)
    form = NotReadForm(request.POST, visit=page.visit, point=place, at=at)
    if not form.is_valid():
        return _show(request, page, place, reason=form)
    try:
        readings.record(page.visit, [], [form.entry], by=signed_in(request), at=at)  # type: ignore[list-item]
    except EntryRefused as refused:
        form.add_error(None, str(refused))
        return _show(request, page, place, reason=form)
    messages.success(request, f"Point {place.number}: {form.cleaned_data['no_reading']}.")
    return _onward(page, place, "")


@require_http_methods(["GET", "HEAD", "POST"])
def correct(request: HttpRequest, pk: int) -> HttpResponse:
    """A reading that stands is replaced by another, with the reason; the first stays on record."""
    at = timezone.now()
    person = signed_in(request)
    seen = Reading.objects.visible_to(person, on=at.date()).select_related("point__part", "range")
    row = get_object_or_404(seen, pk=pk)
    visit = found(request, row.visit_id, at)
    access.require(access.CORRECT in acts_at(person, visit, on=at.date()))
    if not readings.correctable(row):
        messages.error(request, "This reading can no longer be corrected: see what stands on record.")
        return redirect("reading", row.pk)
    zone = ZoneInfo(visit.structure.site.time_zone)
    told = {"visit": visit, "point": row.point, "at": at, "correcting": row, "ranges": ranges_of(visit)}
    form = CorrectionForm(request.POST or None, initial=as_typed(row, zone), **told)
    if request.method == "POST" and form.is_valid():
        try:
            reason = form.cleaned_data["reason"]
            new = readings.correct(row, form.entry, reason=reason, by=person, at=at)  # type: ignore[arg-type]
        except EntryRefused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Corrected. The reading it replaces stays on record.")
            return redirect("reading", new.pk)
    context = {
        "reading": row,
        "visit": visit,
        "structure": visit.structure,
        "site": visit.structure.site,
        "form": form,
    }
    return render(
        request, "inspections/correct_reading.html", context, status=REFUSED if form.is_bound else 200
    )  # fmt: skip


def ranges_of(visit: Visit) -> QuerySet[InstrumentRange]:
    rows = InstrumentRange.objects.filter(instrument__firm=visit.firm_id).select_related("instrument")
    return rows.order_by("instrument__serial", "top_order", "pk")


def _back(request: HttpRequest, visit: Visit) -> HttpResponse:
    if visit.state != VisitState.ON_SITE:
        messages.error(
            request, f"Visit {visit.number} is {visit.state}. Readings are entered while it is on site."
        )
    else:
        messages.info(request, "Every point of this visit has a reading or a reason.")
    return redirect("visit", visit.pk)


def _asked(page: VisitPage, point: int) -> TestPoint:
    asked = coverage.points_asked(page.visit, page.day).select_related("part__system")
    return get_object_or_404(asked, pk=point)


def _next_open(page: VisitPage, after: str) -> TestPoint | None:
    """The next open point of the route behind one, else the first that is open. after: its natural order"""
    still = coverage.points_without_outcome(page.visit, page.day)
    return still.filter(number_order__gt=after).first() or still.first()


def _onward(page: VisitPage, place: TestPoint, query: str) -> HttpResponse:
    point = _next_open(page, place.number_order)
    if point is None:
        messages.success(page.request, "Every point of this visit has a reading or a reason.")
        return redirect("visit", page.visit.pk)
    return redirect(reverse("visit-point", args=[page.visit.pk, point.pk]) + query)


def _show(
    request: HttpRequest,
    page: VisitPage,
    point: TestPoint,
    *,
    reading: Typed | None = None,
    reason: Typed | None = None,
) -> HttpResponse:
    visit = page.visit
    told: dict[str, Any] = {"visit": visit, "point": point, "at": page.at}
    now = {"time": page.at.astimezone(page.zone).strftime("%Y-%m-%dT%H:%M")}
    own = (
        Reading.objects.standing().filter(visit=visit, by=signed_in(request)).order_by("-recorded_at", "-pk")
    )
    # The unit the point was last read in; at its first reading whoever reads the display says it.
    units = (
        Reading.objects.standing().filter(point=point).order_by("-at", "-pk").values_list("unit", flat=True)
    )
    initial = {**settings_of(own.first()), "unit": units.first() or "", **now}
    entered = _entered(request, visit)
    context = {
        "page": page, "visit": visit, "structure": visit.structure, "site": visit.structure.site, "point": point,
        "reading_form": reading or ReadingForm(initial=initial, ranges=ranges_of(visit), **told),
        "reason_form": reason or NotReadForm(initial=now, **told),
        "standing": _standing(visit, point),
        "entered": entered,
        "judged": evidence.judge_again(entered) if entered else None,
        "route": route_page(request, page, point),
    }  # fmt: skip
    if entered:
        context |= {
            "displayed": figures.displayed(entered.reading),
            "change": figures.change(entered),
            "corrected": figures.corrected(entered),
            "limit": figures.limit_of(entered.limit, entered.electrodes),
        }
    with timezone.override(page.zone):
        return render(
            request, "inspections/enter_point.html", context, status=REFUSED if reading or reason else 200
        )


def _standing(visit: Visit, point: TestPoint) -> Any:
    """What stands for this point at this visit already: a reading to be corrected, or a reason that a reading ends."""
    read = Reading.objects.standing().filter(visit=visit, point=point).first()
    return read or NoReading.objects.standing().filter(visit=visit, point=point).order_by("-pk").first()


def _entered(request: HttpRequest, visit: Visit) -> Verdict | None:
    """The reading entered a moment ago, whose meaning stands beside the next point."""
    after = request.GET.get("after", "")
    if not (after.isascii() and after.isdecimal() and len(after) < 19):
        return None
    rows = Verdict.objects.filter(reading__visit=visit, reading__in=visit.readings.standing())
    return rows.select_related(*evidence.VERDICT_ROWS).filter(pk=int(after)).first()
