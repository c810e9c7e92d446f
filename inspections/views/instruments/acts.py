"""Acts on instruments: each finds, asks the role, calls one action, and shows a refusal where it belongs."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inspections.actions import instruments as acts
from inspections.actions.instruments import InstrumentRefused
from inspections.forms.instruments import (
    AddForm,
    CalibrationForm,
    CorrectForm,
    RangeForm,
    RetireForm,
    WithdrawForm,
)
from inspections.imports.instruments import add_typed
from inspections.models import Instrument
from inspections.views.instruments.pages import found, visible_calibration
from sites import access
from sites.access import firms_of, may, require
from sites.imports import ImportRefused
from sites.uploads import at_most
from sites.views.signed_in import signed_in

EDIT = ["GET", "HEAD", "POST"]
REFUSED = 422


def _require(request: HttpRequest, instrument: Instrument, at: Any) -> None:
    require(may(signed_in(request), access.CHANGE_INSTRUMENTS, instrument.firm_id, on=at.date()))


def _answer(
    request: HttpRequest, form: Any, do: Callable[[], Instrument], said: str, heading: str, button: str,
    back: Instrument | None,
) -> HttpResponse:  # fmt: skip
    """The pattern of each act: a form, one action, on to the instrument; a refusal keeps what was typed."""
    if form.is_bound and form.is_valid():
        try:
            instrument = do()
        except InstrumentRefused as refused:
            form.add_error(refused.field if refused.field in form.fields else None, str(refused))
        except ImportRefused as refused:
            form.refuse(refused)
        else:
            if form.is_valid():
                messages.success(request, said)
                return redirect("instrument", pk=instrument.pk)
    page = {
        "form": form,
        "heading": heading,
        "button": button,
        "instrument": back,
        "back": reverse("instrument", args=[back.pk]) if back else reverse("instruments"),
        "files": any(isinstance(field, forms.FileField) for field in form.fields.values()),
    }
    return render(
        request, "inspections/instruments/form.html", page, status=REFUSED if form.is_bound else 200
    )


def _data(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" else None


def _files(request: HttpRequest) -> Any:
    return request.FILES if request.method == "POST" else None


@require_http_methods(EDIT)
def add(request: HttpRequest) -> HttpResponse:
    """A new instrument with its first range, at the firm whose instruments the person changes."""
    at, by = timezone.now(), signed_in(request)
    firm = firms_of(by, access.MAY[access.CHANGE_INSTRUMENTS], on=at.date()).first()
    require(firm is not None)
    form = AddForm(_data(request))
    return _answer(
        request, form,
        lambda: add_typed(firm, form.cells(), by=by, at=at),  # type: ignore[arg-type]
        "The instrument is on record. Its calibration comes next.", "Add an instrument", "Add it", None,
    )  # fmt: skip


@require_http_methods(EDIT)
def add_range(request: HttpRequest, pk: int) -> HttpResponse:
    at, by = timezone.now(), signed_in(request)
    instrument = found(request, pk, at)
    _require(request, instrument, at)
    form = RangeForm(_data(request))
    told = lambda: {"serial": instrument.serial, **form.cells()}  # noqa: E731
    return _answer(
        request, form,
        lambda: add_typed(instrument.firm, told(), by=by, at=at),
        "The range is on record.", f"Add a range to {instrument}", "Add the range", instrument,
    )  # fmt: skip


@at_most("DOCUMENT_MAX_BYTES")
@require_http_methods(EDIT)
def calibrate(request: HttpRequest, pk: int) -> HttpResponse:
    at, by = timezone.now(), signed_in(request)
    instrument = found(request, pk, at)
    _require(request, instrument, at)
    form = CalibrationForm(_data(request), _files(request))

    def do() -> Instrument:
        file = form.keep()
        if not form.errors:
            acts.calibrate(instrument, form.stated(), file=file, by=by, at=at)
        return instrument

    heading = f"Record a calibration of {instrument}"
    return _answer(request, form, do, "The calibration is on record.", heading, "Record it", instrument)


@at_most("DOCUMENT_MAX_BYTES")
@require_http_methods(EDIT)
def correct(request: HttpRequest, pk: int) -> HttpResponse:
    at, by = timezone.now(), signed_in(request)
    calibration = visible_calibration(request, pk, at)
    _require(request, calibration.instrument, at)
    form = CorrectForm(_data(request), _files(request), like=calibration)

    def do() -> Instrument:
        file = form.keep()
        if not form.errors:
            reason = form.cleaned_data["reason"]
            acts.correct(calibration, form.stated(), file=file, reason=reason, by=by, at=at)
        return calibration.instrument

    said = "Corrected. The row it replaces stays, and verdicts keep what they were reckoned from."
    heading = f"Correct certificate {calibration.certificate}"
    return _answer(request, form, do, said, heading, "Correct it", calibration.instrument)


@require_http_methods(EDIT)
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    at, by = timezone.now(), signed_in(request)
    calibration = visible_calibration(request, pk, at)
    _require(request, calibration.instrument, at)
    form = WithdrawForm(_data(request))

    def do() -> Instrument:
        acts.withdraw(calibration, reason=form.cleaned_data["reason"], by=by, at=at)
        return calibration.instrument

    said = "Withdrawn. It stays on record and counts no more."
    heading = f"Withdraw certificate {calibration.certificate}"
    return _answer(request, form, do, said, heading, "Withdraw it", calibration.instrument)


@require_http_methods(EDIT)
def retire(request: HttpRequest, pk: int) -> HttpResponse:
    at, by = timezone.now(), signed_in(request)
    instrument = found(request, pk, at)
    _require(request, instrument, at)
    form = RetireForm(_data(request))

    def do() -> Instrument:
        acts.retire(instrument, **form.cleaned_data, by=by, at=at)
        return instrument

    said = "Retired. What was read with it stays."
    return _answer(request, form, do, said, f"Retire {instrument}", "Retire it", instrument)
