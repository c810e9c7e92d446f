"""The page behind an invitation's link: whoever holds it sets name and password, once."""

from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from sites.actions.invitations import InvitationOver, accept_invitation, with_secret
from sites.forms.passwords import AcceptForm


@login_not_required
@never_cache
@sensitive_post_parameters("password", "again")
@require_http_methods(["GET", "HEAD", "POST"])
def invitation(request: HttpRequest, secret: str) -> HttpResponse:
    """Name and password. A link that does not work is answered alike, whatever the reason."""
    now = timezone.now()
    found = with_secret(secret)
    if found is None or found.state(now) != "open" or found.person.has_usable_password():
        return _over(request)
    form = AcceptForm(request.POST or None, person=found.person, initial={"name": found.person.name})
    if not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(request, "signing/invitation.html", {"form": form, "invitation": found}, status=status)
    told = form.cleaned_data
    try:
        accept_invitation(found, name=told["name"], password=told["password"], at=now)
    except InvitationOver:
        return _over(request)
    logout(request)  # whoever was signed in at this device is not necessarily the one invited
    messages.success(request, "Your password is set. Sign in with it now.")
    return redirect("sign-in")


def _over(request: HttpRequest) -> HttpResponse:
    return render(request, "signing/invitation_over.html", {}, status=410)
