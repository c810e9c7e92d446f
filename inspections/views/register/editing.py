"""What every form of the register shares: who may, the trail above it, calling its act, and its answer."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from inspections.forms.register import ChangeForm
from sites import access
from sites.access import may, require
from sites.actions.register import RegisterRefused
from sites.models import Client, Firm, Site, Structure
from sites.views.signed_in import signed_in

REFUSED = 422
_Row = TypeVar("_Row", bound=Model)
Trail = list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Page:
    """One form's page. trail: (label, address) of what it belongs to; back: where to go without it"""

    heading: str
    button: str
    trail: Trail
    back: str
    lede: str = ""


def may_change(request: HttpRequest, firm: Firm | int, on: date) -> bool:
    """Whether the links to these forms are shown."""
    return may(signed_in(request), access.CHANGE_REGISTER, firm, on=on)


def require_change(request: HttpRequest, firm: Firm | int, on: date) -> None:
    """403 for somebody who may look but not change the register."""
    require(may_change(request, firm, on))


def data_of(request: HttpRequest) -> Any:
    """What was sent, or None where the form is only looked at."""
    return request.POST if request.method == "POST" else None


def answer(
    request: HttpRequest,
    form: ChangeForm,
    page: Page,
    act: Callable[[dict[str, Any]], _Row],
    *,
    done: Callable[[_Row], tuple[str, str]],
    zone: ZoneInfo | None = None,
) -> HttpResponse:
    """The form's page; where it was sent and holds, the act and the way on.

    act: gets what was said; done: what to say of the row that came of it, and where to go
    """
    if form.is_bound and form.is_valid():
        try:
            row = act(form.said())
        except RegisterRefused as refused:
            form.add_error(None, str(refused))
        else:
            words, address = done(row)
            messages.success(request, words)
            return redirect(address)
    status = REFUSED if form.is_bound else 200
    with timezone.override(zone):
        return render(request, "inspections/register/form.html", {"form": form, "page": page}, status=status)


def of_client(client: Client) -> Trail:
    return [("Sites", reverse("sites")), (client.name, reverse("client", args=[client.pk]))]


def of_site(site: Site) -> Trail:
    return [*of_client(site.client), (site.name, reverse("site", args=[site.pk]))]


def of_structure(structure: Structure) -> Trail:
    return [*of_site(structure.site), (structure.name, reverse("structure", args=[structure.pk]))]
