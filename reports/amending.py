"""Acts on an issued report: an amendment proposed, opened or given up, the report withdrawn."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from inspections.actions.visits import VisitRefused
from reports import actions
from reports.afterwards import Afterwards
from reports.forms import AmendForm, CloseForm, ProposeForm, WithdrawForm
from reports.views import found, show
from sites import access
from sites.access import may, require
from sites.views.signed_in import signed_in

REFUSED = 422


def _act(
    request: HttpRequest,
    pk: int,
    *,
    needs: str,
    kind: Any,
    do: Callable[..., object],
    said: str,
    then: str = "report",
) -> HttpResponse:
    """The pattern of every act. then: where it goes on, at the "report" or at its "visit" """
    at, by = timezone.now(), signed_in(request)
    issue = found(request, pk, at)
    require(may(by, needs, issue.firm, on=at.date()))
    form, refusal = kind(request.POST), ""
    if form.is_valid():
        try:
            do(issue, reason=form.cleaned_data["reason"], by=by, at=at)
        except VisitRefused as refused:
            refusal = str(refused)
        else:
            messages.success(request, said)
            return redirect(then, pk=issue.pk if then == "report" else issue.visit_id)
    issue = found(request, pk, at)
    return show(request, issue, Afterwards(issue, by, at, {kind.prefix: form}, refusal), status=REFUSED)


@require_POST
def propose(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.PROPOSE_AMENDMENTS,
        kind=ProposeForm,
        do=actions.propose_amendment,
        said="Proposed. The authorised signatory finds it with the report.",
    )  # fmt: skip


@require_POST
def amend(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.AMEND,
        kind=AmendForm,
        do=actions.open_amendment,
        said="The amendment is open: readings and statements of the visit can be corrected, each with its reason.",
        then="visit",
    )  # fmt: skip


@require_POST
def close(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.AMEND,
        kind=CloseForm,
        do=actions.close_amendment,
        said="The amendment is given up. The report stands as it was issued.",
    )  # fmt: skip


@require_POST
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    return _act(
        request, pk,
        needs=access.AMEND,
        kind=WithdrawForm,
        do=actions.withdraw,
        said="The report is withdrawn. Its page and its file remain, and say so. Tell whoever has it in hand.",
    )  # fmt: skip
