"""Moving a plan, giving it up, choosing what goes along."""

from datetime import datetime

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from inspections.actions import planning
from inspections.actions.booking import NotBookable, VisitRefused
from inspections.forms.planning import CancelForm, MoveForm, TakeAlongForm
from inspections.forms.times import shown_day
from inspections.models import Visit
from inspections.views.visits.visit import found, show
from sites import access
from sites.access import may, require
from sites.views.signed_in import signed_in


def _asked(request: HttpRequest, pk: int, at: datetime) -> Visit:
    visit = found(request, pk, at)
    require(may(signed_in(request), access.PLAN, visit.firm, on=at.date()))
    return visit


def _shown(
    request: HttpRequest, visit: Visit, at: datetime, form: forms.Form, refused: Exception
) -> HttpResponse:
    visit.refresh_from_db()
    if isinstance(refused, NotBookable) and isinstance(form, MoveForm | TakeAlongForm):
        form.refused(refused)
        return show(request, visit, at, form=form)
    return show(request, visit, at, form=form, refusal=(str(refused),))


@require_POST
def move(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visit = _asked(request, pk, at)
    form = MoveForm(request.POST)
    if not form.is_valid():
        return show(request, visit, at, form=form)
    try:
        moved = planning.move(visit, **form.cleaned_data, by=signed_in(request), at=at)
    except VisitRefused as refused:
        return _shown(request, visit, at, form, refused)
    messages.success(
        request,
        f"The visit is planned for {shown_day(moved.planned_on)} now. What is due stays due as it was.",
    )
    return redirect("visit", pk=visit.pk)


@require_POST
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visit = _asked(request, pk, at)
    form = CancelForm(request.POST)
    if not form.is_valid():
        return show(request, visit, at, form=form)
    try:
        planning.cancel(visit, **form.cleaned_data, by=signed_in(request), at=at)
    except VisitRefused as refused:
        return _shown(request, visit, at, form, refused)
    messages.success(request, "The visit is cancelled. What is due stays due as it was.")
    return redirect("visit", pk=visit.pk)


@require_POST
def take_along(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visit = _asked(request, pk, at)
    form = TakeAlongForm(request.POST, visit=visit)
    if not form.is_valid():
        return show(request, visit, at, form=form)
    try:
        planning.take_along(visit, **form.cleaned_data, by=signed_in(request), at=at)
    except VisitRefused as refused:
        return _shown(request, visit, at, form, refused)
    messages.success(request, "The instruments that go along are chosen.")
    return redirect("visit", pk=visit.pk)
