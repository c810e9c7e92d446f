"""Acts about people: each finds whom it concerns, asks the role, calls one action, and answers.

The quality manager and the authorised signatory may do them; whoever else sees the person is refused (403).
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inspections import people_list
from inspections.actions.people import give_role
from inspections.forms.people import (
    AuthorisationForm,
    EndForm,
    GrantForm,
    NoFieldsForm,
    ReachForm,
    RemoveFactorsForm,
    RoleForm,
)
from inspections.views.people.pages import found
from sites import access
from sites.access import MAY, firms_of, may, require
from sites.actions import people as acts
from sites.actions.people import PeopleRefused
from sites.actions.signing import SigningRefused, remove_second_factors
from sites.models import Authorisation, Firm, Membership, Person, Scope
from sites.views.signed_in import signed_in

REFUSED = 422
BOTH = ["GET", "HEAD", "POST"]


@dataclass(frozen=True)
class ActPage:
    """What the page of an act says. said: the message afterwards; asks: what is told before the fields"""

    heading: str
    button: str
    said: str
    asks: str = ""


def _act(
    request: HttpRequest,
    person: Person,
    at: datetime,
    page: ActPage,
    form: Callable[[Any], forms.Form],
    do: Callable[[dict[str, Any]], object],
) -> HttpResponse:
    """Shows the form, and on a post does it: back to the person, or the form again with what is wrong."""
    sent = form(request.POST if request.method == "POST" else None)
    if request.method == "POST" and sent.is_valid():
        try:
            do(sent.cleaned_data)
        except (PeopleRefused, SigningRefused) as refused:
            sent.add_error(None, str(refused))
        else:
            messages.success(request, page.said)
            return redirect("person", pk=person.pk)
    context = {"person": person, "form": sent, "page": page}
    return render(request, "inspections/people/act.html", context, status=REFUSED if sent.is_bound else 200)


def of_person(request: HttpRequest, pk: int, at: datetime) -> tuple[Person, Firm]:
    """Somebody, and the firm in which they are to be changed: the first where both belong."""
    person, _ = found(request, pk, at)
    held = Membership.objects.filter(person=person).values("firm")
    firm = firms_of(signed_in(request), MAY[access.CHANGE_PEOPLE], on=at.date()).filter(pk__in=held).first()
    require(firm is not None)
    assert firm is not None  # noqa: S101 - require has answered otherwise
    return person, firm


def one_of(request: HttpRequest, rows: QuerySet, pk: int, at: datetime, firm: str) -> Any:
    """One of the rows that the person may see and change. firm: the path from the row to the firm's id"""
    row = get_object_or_404(rows, pk=pk)
    of: Any = row
    for step in firm.split("."):
        of = getattr(of, step)
    require(may(signed_in(request), access.CHANGE_PEOPLE, of, on=at.date()))
    return row


@require_http_methods(BOTH)
def add_role(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    person, firm = of_person(request, pk, at)
    page = ActPage(f"Give {person} a role", "Give the role", "The role is entered.")
    return _act(
        request, person, at, page,
        lambda data: RoleForm(data, today=at.date()),
        lambda told: give_role(person, firm=firm, **told, by=signed_in(request), at=at),
    )  # fmt: skip


@require_http_methods(BOTH)
def grant_audit(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    person, firm = of_person(request, pk, at)
    page = ActPage(
        f"Let {person} look as an auditor", "Give the grant", "The grant is entered; it ends by itself.",
        "An auditor sees what is named here, and changes nothing.",
    )  # fmt: skip
    return _act(
        request, person, at, page,
        lambda data: GrantForm(data, firm=firm, today=at.date()),
        lambda told: acts.grant_audit(person, firm=firm, **told, by=signed_in(request), at=at),
    )  # fmt: skip


@require_http_methods(BOTH)
def add_authorisation(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    person, firm = of_person(request, pk, at)
    page = ActPage(
        f"Authorise {person}", "Enter the authorisations", "The authorisations are entered.",
        "Each kind of system chosen is combined with each kind of visit chosen. "
        "Keep the grounds, such as training and proof of ability, where your firm keeps them.",
    )  # fmt: skip

    @transaction.atomic
    def do(told: dict[str, Any]) -> None:
        for system in told["system_kinds"]:
            for visit in told["visit_kinds"]:
                acts.create_authorisation(
                    person, firm=firm, system_kind=system, visit_kind=visit, since=told["since"],
                    until=told["until"], by=signed_in(request), at=at,
                )  # fmt: skip

    return _act(request, person, at, page, lambda data: AuthorisationForm(data, today=at.date()), do)


@require_http_methods(BOTH)
def add_reach(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    sight = people_list.sight_of(signed_in(request), on=at.date())
    rows = people_list.memberships_seen(sight).select_related("person", "firm")
    member = one_of(request, rows, pk, at, "firm_id")
    page = ActPage(
        f"What {member.person} reaches as {member.get_role_display()}", "Enter it", "What the role reaches is entered."
    )  # fmt: skip
    return _act(
        request, member.person, at, page,
        lambda data: ReachForm(data, firm=member.firm, today=at.date()),
        lambda told: acts.create_scope(member, **told, by=signed_in(request), at=at),
    )  # fmt: skip


@require_http_methods(BOTH)
def end_role(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    sight = people_list.sight_of(signed_in(request), on=at.date())
    member: Membership = one_of(
        request, people_list.memberships_seen(sight).select_related("person"), pk, at, "firm_id"
    )
    page = ActPage(
        f"End the role of {member.person} as {member.get_role_display()}", "End the role", "The role has its last day.",
        "What the role reached ends with it. Whatever was done in it stays as it is.",
    )  # fmt: skip
    return _end(request, member.person, at, page, acts.end_membership, member)


@require_http_methods(BOTH)
def end_reach(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    sight = people_list.sight_of(signed_in(request), on=at.date())
    rows = people_list.scopes_seen(sight).select_related("membership__person", "client", "site")
    scope: Scope = one_of(request, rows, pk, at, "membership.firm_id")
    page = ActPage(
        f"End what {scope.membership.person} reaches: {scope.client or scope.site}",
        "End it",
        "It has its last day.",
    )
    return _end(request, scope.membership.person, at, page, acts.end_scope, scope)


@require_http_methods(BOTH)
def end_authorisation(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    sight = people_list.sight_of(signed_in(request), on=at.date())
    seen = Authorisation.objects.filter(
        firm__in=sight.firms, person__in=people_list.people_seen(sight).values("pk")
    )
    row: Authorisation = one_of(request, seen.select_related("person"), pk, at, "firm_id")
    page = ActPage(
        f"End an authorisation of {row.person}: {row.system_kind}, {row.get_visit_kind_display()}",
        "End the authorisation", "The authorisation has its last day.",
        "Visits that are planned after that day need somebody else.",
    )  # fmt: skip
    return _end(request, row.person, at, page, acts.end_authorisation, row)


def _end(
    request: HttpRequest, person: Person, at: datetime, page: ActPage, end: Callable[..., object], row: Any
) -> HttpResponse:
    return _act(
        request, person, at, page,
        lambda data: EndForm(data, today=at.date()),
        lambda told: end(row, until=told["until"], by=signed_in(request), at=at),
    )  # fmt: skip


@require_http_methods(BOTH)
def erase_contact(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    person, firm = of_person(request, pk, at)
    page = ActPage(
        f"Forget how to reach {person}", "Erase the contact data", "The contact data is erased.",
        "The e-mail address is erased together with what sealed it in the log; nobody can sign in as this person "
        "any more. The name stays where it stands in what was issued, and the log stays whole. "
        "This cannot be taken back.",
    )  # fmt: skip
    return _act(
        request, person, at, page, NoFieldsForm,
        lambda told: acts.erase_contact(person, firm=firm, by=signed_in(request), at=at),
    )  # fmt: skip


@require_http_methods(BOTH)
def remove_factors(request: HttpRequest, pk: int) -> HttpResponse:
    """For somebody who has lost their device and the recovery codes."""
    at = timezone.now()
    person, _ = of_person(request, pk, at)
    page = ActPage(
        f"Remove the second factors of {person}", "Remove them",
        f"The second factors of {person} are removed, and all their sessions have ended.",
        "Their authenticator app, passkeys and recovery codes no longer work, and all their sessions end. "
        "The password alone lets them in again; where a firm demands a second factor, they set up a new one then. "
        "They get a letter. Somebody who wants to get in as them may ask for exactly this: "
        "make sure that it is they who ask.",
    )  # fmt: skip
    return _act(
        request, person, at, page, RemoveFactorsForm,
        lambda told: remove_second_factors(person, by=signed_in(request), at=at, **told),
    )  # fmt: skip
