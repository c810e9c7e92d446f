"""Planning a visit: its kind, its day, and only people authorised for it."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inspections.actions import visits
from inspections.actions.booking import NotBookable
from inspections.due_list import open_visits
from inspections.forms.times import shown_day
from inspections.forms.visits import PlanForm
from inspections.inspectors import inspectors_of
from inspections.models import DueDate
from inspections.owning import wishes_of
from inspections.views.visits.visit import REFUSED
from sites import access
from sites.access import may, require
from sites.models import Structure
from sites.views.signed_in import signed_in

MOST_OPEN = 10


@require_http_methods(["GET", "HEAD", "POST"])
def plan_visit(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    structure = get_object_or_404(
        Structure.objects.visible_to(signed_in(request), on=at.date()).select_related("site__client__firm"),
        pk=pk,
    )
    require(may(signed_in(request), access.PLAN, structure.site.client.firm, on=at.date()))
    inspectors = inspectors_of(structure, at)
    today = structure.site.day_at(at)
    sent = request.POST if request.method == "POST" else None
    form = PlanForm(sent, structure=structure, inspectors=inspectors, today=today)
    if request.method == "POST" and form.is_valid():
        try:
            visit = visits.plan(structure, **form.cleaned_data, by=signed_in(request), at=at)
        except NotBookable as refused:
            form.refused(refused)
        else:
            messages.success(request, f"Visit {visit.number} is planned for {shown_day(visit.planned_on)}.")
            return redirect("visit", pk=visit.pk)
    return render(
        request,
        "inspections/plan_visit.html",
        _context(structure, form, inspectors, today),
        status=_status(form),
    )


def _status(form: PlanForm) -> int:
    return REFUSED if form.is_bound else 200


def _context(structure: Structure, form: PlanForm, inspectors: list[Any], today: date) -> dict[str, Any]:
    return {
        "structure": structure,
        "site": structure.site,
        "form": form,
        "inspectors": inspectors,
        "owed": DueDate.objects.filter(structure=structure, governs=True).first(),
        "today": today,
        "wishes": wishes_of(structure, today),
        "open_visits": open_visits(structure)[:MOST_OPEN],
    }
