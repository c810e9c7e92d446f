"""Acts on a visit: each finds it, asks the role, calls one action, and shows a refusal where the person is."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from inspections.actions import amending, findings, readings, visits
from inspections.actions.entries import NewNoReading
from inspections.forms.visits import (
    ApproveForm,
    CompleteForm,
    ConditionsForm,
    DefectForm,
    HandInForm,
    NoReadingForm,
    RestateForm,
    SendBackForm,
    StartForm,
)
from inspections.models import Reason, Visit
from inspections.views.visits.visit import VisitPage, found, show
from inspections.visit_rights import acts_at
from sites import access
from sites.access import require
from sites.views.signed_in import signed_in

REFUSALS = (visits.VisitRefused, readings.EntryRefused, findings.FindingRefused)
Act = Callable[[Visit, dict[str, Any], Any, datetime], object]


def _act(
    request: HttpRequest,
    pk: int,
    *,
    needs: str,
    form: Callable[[Visit, datetime], forms.Form],
    do: Act,
    said: str,
) -> HttpResponse:
    """The pattern of every act. needs: the act of the role table; said: the message afterwards"""
    at = timezone.now()
    visit = found(request, pk, at)
    require(needs in acts_at(signed_in(request), visit, on=at.date()))
    sent = form(visit, at)
    if not sent.is_valid():
        return show(request, visit, at, form=sent)
    try:
        do(visit, sent.cleaned_data, signed_in(request), at)
    except REFUSALS as refused:
        visit.refresh_from_db()
        return show(request, visit, at, form=sent, refusal=_sentences(refused))
    messages.success(request, said)
    return redirect("visit", pk=visit.pk)


def _sentences(refused: Exception) -> tuple[str, ...]:
    return refused.missing if isinstance(refused, visits.VisitNotReady) else (str(refused),)


@require_POST
def start(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.ENTER,
        form=lambda visit, at: StartForm(request.POST, visit=visit),
        do=lambda visit, told, by, at: visits.start(visit, arrived_at=told["arrived_at"], by=by, at=at),
        said="The visit has begun. Readings and reasons can be entered.",
    )  # fmt: skip


@require_POST
def conditions(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.ENTER,
        form=lambda visit, at: ConditionsForm(request.POST, visit=visit),
        do=lambda visit, told, by, at: visits.note_conditions(visit, visits.Conditions(**told), by=by, at=at),
        said="The conditions are kept.",
    )  # fmt: skip


@require_POST
def no_reading(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.ENTER,
        form=lambda visit, at: NoReadingForm(
            request.POST, visit=visit, blank=VisitPage(request, visit, at).blank
        ),
        do=_give_reasons,
        said="The reasons are kept.",
    )  # fmt: skip


def _give_reasons(visit: Visit, told: dict[str, Any], by: Any, at: datetime) -> None:
    entries = [
        NewNoReading(point=point, reason=Reason(told["reason"]), at=told["at"], words=told["words"].strip())
        for point in told["points"]
    ]
    readings.record(visit, [], entries, by=by, at=at)


@require_POST
def complete(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.ENTER,
        form=lambda visit, at: CompleteForm(request.POST, visit=visit),
        do=lambda visit, told, by, at: visits.complete_field_work(
            visit, left_at=told["left_at"], escort=told["escort"], agreed_limitations=told["agreed_limitations"],
            by=by, at=at,
        ),
        said="The field work is complete. Hand it in to the reviewing engineer.",
    )  # fmt: skip


@require_POST
def hand_in(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.ENTER,
        form=lambda visit, at: HandInForm(request.POST),
        do=lambda visit, told, by, at: visits.hand_in(visit, words=told["words"], by=by, at=at),
        said="Handed in. The reviewing engineer has it now.",
    )  # fmt: skip


@require_POST
def approve(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.REVIEW,
        form=lambda visit, at: ApproveForm(request.POST),
        do=lambda visit, told, by, at: visits.approve(visit, words=told["words"], by=by, at=at),
        said="Approved. The authorised signatory can issue the report.",
    )  # fmt: skip


@require_POST
def send_back(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.REVIEW,
        form=lambda visit, at: SendBackForm(request.POST),
        do=lambda visit, told, by, at: visits.send_back(visit, words=told["words"], by=by, at=at),
        said="Sent back. The visit is on site again, with your words.",
    )  # fmt: skip


@require_POST
def restate(request: HttpRequest, pk: int) -> HttpResponse:
    """Beside readings: what an amendment corrects of the visit."""
    return _act(
        request, pk,
        needs=access.CORRECT,
        form=lambda visit, at: RestateForm(request.POST, visit=visit),
        do=_restate,
        said="Corrected. What was said before stands in the log.",
    )  # fmt: skip


def _restate(visit: Visit, told: dict[str, Any], by: Any, at: datetime) -> None:
    said = {name: words for name, words in told.items() if name != "reason"}
    amending.restate(visit, amending.Statement(**said), reason=told["reason"], by=by, at=at)


@require_POST
def defect(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.ENTER,
        form=lambda visit, at: DefectForm(request.POST, visit=visit),
        do=lambda visit, told, by, at: findings.record_defect(visit, **told, by=by, at=at),
        said="The defect is recorded.",
    )  # fmt: skip
