"""Signing in by e-mail and password, by a second factor, by a passkey; and out."""

from typing import Any

from allauth.account.adapter import get_adapter
from allauth.account.views import LoginView, ReauthenticateView
from allauth.mfa.base.views import AuthenticateView
from allauth.mfa.webauthn.views import LoginWebAuthnView
from allauth.usersessions.models import UserSession
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LogoutView
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.decorators import method_decorator

from sites.actions.attempts import record_attempt
from sites.models import Outcome
from sites.signing.adapters import NOT_ACCEPTED, TOO_MANY, WRONG
from sites.signing.hosts import passkeys_work

__all__ = ["WRONG"]


class SignIn(LoginView):
    """The session gets a new key; a way on is followed only within this site."""

    template_name = "sign_in.html"

    def get_success_url(self) -> str:
        """Where to go on. Whoever pressed “Sign out” after the session had ended must not be sent back there."""
        wanted = super().get_success_url() or ""
        return reverse("home") if wanted.startswith(reverse("sign-out")) else wanted

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        told = super().get_context_data(**kwargs)
        told["next"] = self.get_success_url()
        told["passkeys_work"] = passkeys_work(self.request)
        return told

    def form_invalid(self, form: Any) -> HttpResponse:
        answer: HttpResponse = super().form_invalid(form)
        if form.has_error("__all__", "too_many_login_attempts"):
            answer.status_code = 429
        return answer


class SecondStep(AuthenticateView):
    """The code or the passkey, after the password was right; nobody is signed in before."""

    template_name = "signing/second_step.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return {**super().get_context_data(**kwargs), "passkeys_work": passkeys_work(self.request)}

    def form_invalid(self, form: Any) -> HttpResponse:
        person = self.stage.login.user
        many = any(TOO_MANY in faults for faults in form.errors.values())
        record_attempt(
            person.email,
            address=get_adapter().get_client_ip(self.request),
            outcome=Outcome.THROTTLED if many else Outcome.WRONG_CODE,
            at=timezone.now(),
        )
        answer: HttpResponse = super().form_invalid(form)
        answer.status_code = 429 if many else 422
        return answer


@method_decorator(login_not_required, name="dispatch")
class PasskeySignIn(LoginWebAuthnView):
    """Signing in with a passkey alone, which asks its owner's finger or PIN."""

    def form_invalid(self, form: Any) -> HttpResponse:
        messages.error(self.request, NOT_ACCEPTED)
        return redirect("sign-in")


class SayAgain(ReauthenticateView):
    """The password once more, before something about the sign-in is changed."""

    template_name = "signing/say_again.html"

    def form_invalid(self, form: Any) -> HttpResponse:
        answer: HttpResponse = super().form_invalid(form)
        answer.status_code = 422
        return answer


class SignOut(LogoutView):
    """By POST only."""

    http_method_names = ["post", "options"]

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:  # type: ignore[override]
        UserSession.objects.filter(session_key=request.session.session_key).delete()
        return super().post(request, *args, **kwargs)
