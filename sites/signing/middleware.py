"""Asked at each request: is the session too old, and does the firm demand a second factor first?"""

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from sites.signing import sessions
from sites.signing.demands import lacks_second_factor

# What somebody may open who must set up a second factor before anything else.
BEFORE_THE_SECOND_FACTOR = frozenset(
    {
        "second-factor-first",
        "mfa_activate_totp",
        "mfa_add_webauthn",
        "mfa_view_recovery_codes",
        "account_reauthenticate",
        "sign-out",
    }
)

Answer = Callable[[HttpRequest], HttpResponse]


class SessionAge:
    """A session ends its age after signing in, used or not; "last seen" is kept on the way."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            age = sessions.age_seconds(request)
            if age is not None and age >= settings.SESSION_COOKIE_AGE:
                logout(request)
                messages.info(request, "You were signed in for a long time. Please sign in again.")
            else:
                sessions.note_seen(request)
        return self.get_response(request)


class SecondFactorFirst:
    """Leads to the set-up where a firm of the person demands a second factor and they have none."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        if not request.user.is_authenticated or not getattr(view, "login_required", True):
            return None
        match = request.resolver_match
        if match is not None and match.url_name in BEFORE_THE_SECOND_FACTOR:
            return None
        if lacks_second_factor(request.user, on=timezone.now().date()):
            return redirect("second-factor-first")
        return None
