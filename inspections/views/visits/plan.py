"""Moving a plan, giving it up, choosing who and what goes along: from the visit's page, or from planning."""

from collections.abc import Callable
from datetime import datetime
from types import SimpleNamespace
from zoneinfo import ZoneInfo

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from inspections.actions import planning
from inspections.actions.booking import NotBookable, VisitRefused
from inspections.forms.planning import AssignForm, CancelForm, MoveForm, TakeAlongForm
from inspections.forms.times import shown_day
from inspections.inspectors import inspectors_of
from inspections.models import DueDate, Visit
from inspections.views.visits.visit import REFUSED, found, show
from inspections.visit_plan import VisitPlan
from sites import access
from sites.access import may, require
from sites.views.signed_in import signed_in


def _asked(request: HttpRequest, pk: int, at: datetime) -> Visit:
    visit = found(request, pk, at)
    require(may(signed_in(request), access.PLAN, visit.firm, on=at.date()))
    return visit


@require_safe
def change_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """The plan alone, with every act on it; what is done here leads back to planning."""
    at = timezone.now()
    return _plan_page(request, _asked(request, pk, at), at)


def _plan_page(
    request: HttpRequest, visit: Visit, at: datetime, form: forms.Form | None = None, refusal: str = ""
) -> HttpResponse:
    bound = {form.prefix: form} if form is not None and form.prefix else {}
    going = visit.inspectors.select_related("person").order_by("person__name", "pk")
    context = {
        "visit": visit,
        "structure": visit.structure,
        "site": visit.structure.site,
        "plan": VisitPlan(visit, True, at, bound),
        "page": SimpleNamespace(open_forms=list(bound) or [MoveForm.prefix]),
        "owed": DueDate.objects.filter(structure=visit.structure, governs=True).first(),
        "going": ", ".join(row.person.name for row in going),
        "refusal": refusal,
    }
    with timezone.override(ZoneInfo(visit.structure.site.time_zone)):
        status = REFUSED if bound or refusal else 200
        return render(request, "inspections/visit_change_plan.html", context, status=status)


def _from_planning(request: HttpRequest) -> bool:
    return request.GET.get("then") == "planning"


def _again(
    request: HttpRequest, visit: Visit, at: datetime, form: forms.Form, refusal: str = ""
) -> HttpResponse:
    """The page that the form came from, with what was typed."""
    if _from_planning(request):
        return _plan_page(request, visit, at, form, refusal)
    return show(request, visit, at, form=form, refusal=(refusal,) if refusal else ())


def _act(
    request: HttpRequest, visit: Visit, at: datetime, form: forms.Form, act: Callable[..., Visit], done: str
) -> HttpResponse:
    """One act with what the form says. done: what to tell, with the visit's planned day as {day}"""
    if not form.is_valid():
        return _again(request, visit, at, form)
    try:
        changed = act(visit, **form.cleaned_data, by=signed_in(request), at=at)
    except VisitRefused as refused:
        visit.refresh_from_db()
        if isinstance(refused, NotBookable) and isinstance(form, MoveForm | TakeAlongForm | AssignForm):
            form.refused(refused)
            return _again(request, visit, at, form)
        return _again(request, visit, at, form, str(refused))
    messages.success(request, done.format(number=visit.number, day=shown_day(changed.planned_on)))
    return redirect("planning") if _from_planning(request) else redirect("visit", pk=visit.pk)


@require_POST
def move(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visit = _asked(request, pk, at)
    done = "Visit {number} is planned for {day} now. What is due stays due as it was."
    form = MoveForm(request.POST, today=visit.structure.site.day_at(at))
    return _act(request, visit, at, form, planning.move, done)


@require_POST
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visit = _asked(request, pk, at)
    done = "Visit {number} is cancelled. What is due stays due as it was."
    return _act(request, visit, at, CancelForm(request.POST), planning.cancel, done)


@require_POST
def take_along(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visit = _asked(request, pk, at)
    form = TakeAlongForm(request.POST, visit=visit)
    return _act(
        request, visit, at, form, planning.take_along,
        "The instruments that go along to visit {number} are chosen.",
    )  # fmt: skip


@require_POST
def assign(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visit = _asked(request, pk, at)
    form = AssignForm(request.POST, visit=visit, inspectors=inspectors_of(visit.structure, at))
    return _act(request, visit, at, form, planning.assign, "Who goes to visit {number} is chosen.")
