"""Inviting somebody new, sending the link again, taking it back."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from inspections import people_list
from inspections.forms.people import InviteForm
from inspections.views.people.acts import BOTH, REFUSED, of_person, one_of
from sites import access
from sites.access import MAY, firms_of, require
from sites.actions import invitations
from sites.actions.people import PeopleRefused
from sites.models import Invitation
from sites.views.signed_in import signed_in


@never_cache
@require_http_methods(BOTH)
def invite(request: HttpRequest) -> HttpResponse:
    """Somebody new, entered into the first firm where the person may do so."""
    at = timezone.now()
    firm = firms_of(signed_in(request), MAY[access.CHANGE_PEOPLE], on=at.date()).first()
    require(firm is not None)
    assert firm is not None  # noqa: S101 - require has answered otherwise
    form = InviteForm(request.POST if request.method == "POST" else None, firm=firm, today=at.date())
    if request.method == "POST" and form.is_valid():
        try:
            made = invitations.invite(firm, **form.cleaned_data, by=signed_in(request), at=at)
        except PeopleRefused as refused:
            form.add_error(None, str(refused))
        else:
            return _sent(request, made)
    status = REFUSED if form.is_bound else 200
    return render(request, "inspections/people/invite.html", {"form": form, "firm": firm}, status=status)


@never_cache
@require_POST
def invite_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Another link, which replaces the one before."""
    at = timezone.now()
    person, firm = of_person(request, pk, at)
    try:
        made = invitations.invite_again(person, firm=firm, by=signed_in(request), at=at)
    except PeopleRefused as refused:
        messages.error(request, str(refused))
        return redirect("person", pk=person.pk)
    return _sent(request, made)


@require_POST
def withdraw_invitation(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    sight = people_list.sight_of(signed_in(request), on=at.date())
    rows = Invitation.objects.filter(firm__in=sight.office).select_related("person")
    invitation: Invitation = one_of(request, rows, pk, at, "firm_id")
    try:
        invitations.withdraw_invitation(invitation, by=signed_in(request), at=at)
    except PeopleRefused as refused:
        messages.error(request, str(refused))
    else:
        messages.success(request, "The link no longer works. End the roles too, if they were not meant.")
    return redirect("person", pk=invitation.person_id)


def _sent(request: HttpRequest, made: Any) -> HttpResponse:
    """Back to the person; where no letter went out, the link is shown this once."""
    if made.mailed:
        messages.success(request, f"A letter with the link was sent to {made.person.email}.")
        return redirect("person", pk=made.person.pk)
    return render(request, "inspections/people/invited.html", {"made": made})
