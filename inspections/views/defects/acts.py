"""Acts on a defect: each finds it, asks the role, calls one action, and shows a refusal where the person is."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from inspections.actions import defects as actions
from inspections.actions.findings import FindingRefused
from inspections.forms import defects as kinds
from inspections.views.defects.page import DefectPage, found, show
from sites import access
from sites.access import require
from sites.views.signed_in import signed_in

Make = Callable[[DefectPage, Any], forms.Form]
Do = Callable[[DefectPage, Any, Any, datetime], object]


def _act(
    request: HttpRequest, pk: int, *, allowed: Callable[[DefectPage], bool], form: Make, do: Do, said: str
) -> HttpResponse:
    """The pattern of every act. allowed: whether the person's role may; said: the message afterwards"""
    at = timezone.now()
    page = DefectPage(request, found(request, pk, at), at)
    require(allowed(page))
    sent = form(page, request.POST)
    back = {str(sent.prefix): sent}
    if not sent.is_valid():
        return show(DefectPage(request, page.defect, at, back))
    try:
        do(page, sent, signed_in(request), at)
    except FindingRefused as refused:
        return show(DefectPage(request, page.defect, at, back, str(refused)))
    messages.success(request, said)
    return redirect("defect", pk=page.defect.pk)


def _role(act: str) -> Callable[[DefectPage], bool]:
    return lambda page: act in page.may


@require_POST
def tell(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        allowed=_role(access.TELL_OF_DANGER),
        form=lambda page, data: kinds.TellForm(data, defect=page.defect),
        do=lambda page, sent, by, at: actions.tell(page.defect, **sent.cleaned_data, by=by, at=at),
        said="Kept: who was told, when and how.",
    )  # fmt: skip


@require_POST
def make_safe(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        allowed=_role(access.FOLLOW_DEFECTS),
        form=lambda page, data: kinds.MadeSafeForm(data, defect=page.defect),
        do=lambda page, sent, by, at: actions.make_safe(page.defect, **sent.cleaned_data, by=by, at=at),
        said="Kept. It stays a defect until it is repaired and re-tested.",
    )  # fmt: skip


@require_POST
def repair(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        allowed=_role(access.FOLLOW_DEFECTS),
        form=lambda page, data: kinds.RepairForm(data, defect=page.defect),
        do=lambda page, sent, by, at: actions.repair(page.defect, **sent.cleaned_data, by=by, at=at),
        said="The repair is kept. The defect awaits its re-test.",
    )  # fmt: skip


@require_POST
def retest(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        allowed=_role(access.FOLLOW_DEFECTS),
        form=lambda page, data: page.retest_form(data),
        do=lambda page, sent, by, at: close(page.defect, sent, by, at),
        said="Closed by the re-test that is named.",
    )  # fmt: skip


def close(defect: Any, sent: kinds.RetestForm, by: Any, at: datetime) -> None:
    """By the reading that is named, else by the visit."""
    words = sent.cleaned_data["words"]
    if sent.reading is not None:
        actions.close_by_reading(defect, sent.reading, words=words, by=by, at=at)
    elif sent.visit is not None:
        actions.close_by_visit(defect, sent.visit, words=words, by=by, at=at)


@require_POST
def accept(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        allowed=lambda page: access.ACCEPT_DEFECTS in page.may or page.accepts_own,
        form=lambda page, data: page.accept_form(data),
        do=lambda page, sent, by, at: actions.accept(
            page.defect, **{"accepted_by": by.name, **sent.cleaned_data}, by=by, at=at
        ),
        said="The acceptance is kept. It ends by itself on the day after.",
    )  # fmt: skip


@require_POST
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        allowed=_role(access.WITHDRAW_DEFECTS),
        form=lambda page, data: kinds.WithdrawDefectForm(data),
        do=lambda page, sent, by, at: actions.withdraw(page.defect, **sent.cleaned_data, by=by, at=at),
        said="The defect is withdrawn. It stays on record with the reason.",
    )  # fmt: skip


@require_POST
def see_again(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        allowed=lambda page: page.may_see_again,
        form=lambda page, data: kinds.SeenAgainForm(data, defect=page.defect),
        do=_see_again,
        said="Kept: it was seen again.",
    )  # fmt: skip


def _see_again(page: DefectPage, sent: Any, by: Any, at: datetime) -> None:
    visit = page.on_site_visit
    if visit is None:
        raise FindingRefused("No visit is on site here that has not seen it yet. Begin the visit first.")
    actions.see_again(page.defect, visit, **sent.cleaned_data, by=by, at=at)
