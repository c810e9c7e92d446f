"""Acts on defects during a visit: told of a danger, seen again, re-tested. A refusal is shown on the visit's page."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from inspections.actions import defects as actions
from inspections.actions.findings import FindingRefused
from inspections.models import Visit
from inspections.views.defects.acts import close
from inspections.views.visits.known_defects import VisitDefects
from inspections.views.visits.visit import found, show
from inspections.visit_rights import acts_at
from sites import access
from sites.access import require
from sites.views.signed_in import signed_in

Do = Callable[[Visit, Any, Any, datetime], object]


def _act(
    request: HttpRequest, pk: int, *, form: Callable[[VisitDefects], forms.Form], do: Do, said: str
) -> HttpResponse:
    at = timezone.now()
    visit = found(request, pk, at)
    require(access.ENTER in acts_at(signed_in(request), visit, on=at.date()))
    sent = form(VisitDefects(visit, at, True, {}))
    if not sent.is_valid():
        return show(request, visit, at, form=sent)
    try:
        with transaction.atomic():  # several defects: all of them or none
            do(visit, sent, signed_in(request), at)
    except FindingRefused as refused:
        return show(request, visit, at, form=sent, refusal=(str(refused),))
    messages.success(request, said)
    return redirect("visit", pk=visit.pk)


@require_POST
def tell_at_visit(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk, form=lambda here: here.tell_form(request.POST), do=_tell, said="Kept: who was told, when and how."
    )  # fmt: skip


def _tell(visit: Visit, sent: Any, by: Any, at: datetime) -> None:
    told = {name: value for name, value in sent.cleaned_data.items() if name != "defects"}
    for defect in sent.chosen():
        actions.tell(defect, **told, by=by, at=at)


@require_POST
def see_again_at_visit(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk, form=lambda here: here.seen_form(request.POST), do=_see, said="Kept: what was seen again."
    )  # fmt: skip


def _see(visit: Visit, sent: Any, by: Any, at: datetime) -> None:
    told = {name: value for name, value in sent.cleaned_data.items() if name != "defects"}
    for defect in sent.chosen():
        actions.see_again(defect, visit, **told, by=by, at=at)


@require_POST
def retest_at_visit(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        form=lambda here: here.retest_form(request.POST),
        do=lambda visit, sent, by, at: close(sent.chosen(), sent, by, at),
        said="Closed by the re-test that is named.",
    )  # fmt: skip
