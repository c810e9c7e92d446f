"""One's own sign-in: password, second factors, sessions; and what a firm demands of its people."""

from typing import Any

from allauth.mfa import app_settings as mfa_settings
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.views import GenerateRecoveryCodesView, ViewRecoveryCodesView
from allauth.mfa.totp.views import ActivateTOTPView, DeactivateTOTPView
from allauth.mfa.webauthn.views import AddWebAuthnView, RemoveWebAuthnView
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse, reverse_lazy
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from sites.access import DEMAND_SECOND_FACTOR, may, require
from sites.actions.signing import SigningRefused, demand_second_factor, tell_second_factor
from sites.models import Firm, Membership
from sites.signing.demands import demanding_firms, demands, second_factors
from sites.signing.hosts import passkeys_work
from sites.signing.sessions import end_session, end_sessions, sessions_of
from sites.views.signed_in import signed_in


@never_cache
@require_safe
def your_sign_in(request: HttpRequest) -> HttpResponse:
    """Everything about how the person signs in."""
    person, now = signed_in(request), timezone.now()
    factors = list(second_factors(person))
    codes = Authenticator.objects.filter(user=person, type=Authenticator.Type.RECOVERY_CODES).first()
    context = {
        "app": next((one for one in factors if one.type == Authenticator.Type.TOTP), None),
        "passkeys": [one for one in factors if one.type == Authenticator.Type.WEBAUTHN],
        "codes_left": len(codes.wrap().get_unused_codes()) if codes else None,
        "codes_made": mfa_settings.RECOVERY_CODE_COUNT,
        "passkeys_work": passkeys_work(request),
        "sessions": sessions_of(person, current=request.session.session_key, at=now),
        "demanded_by": list(demanding_firms(person, on=now.date())),
        "firms": [
            {"firm": firm, "demands": demands(firm, on=now.date())}
            for firm in _firms_of(request)
            if may(person, DEMAND_SECOND_FACTOR, firm, on=now.date())
        ],
    }
    return render(request, "signing/your_sign_in.html", context)


@never_cache
@require_safe
def second_factor_first(request: HttpRequest) -> HttpResponse:
    """Where somebody is led whose firm demands a second factor, before anything else opens."""
    person, today = signed_in(request), timezone.now().date()
    if second_factors(person).exists():
        return redirect("your-sign-in")
    context = {
        "demanded_by": list(demanding_firms(person, on=today)),
        "passkeys_work": passkeys_work(request),
    }
    return render(request, "signing/second_factor_first.html", context)


@require_POST
def end_one_session(request: HttpRequest, pk: int) -> HttpResponse:
    if not end_session(signed_in(request), pk):
        raise Http404
    messages.success(request, "That session has ended.")
    return redirect("your-sign-in")


@require_POST
def end_other_sessions(request: HttpRequest) -> HttpResponse:
    count = end_sessions(signed_in(request), but=request.session.session_key)
    messages.success(request, f"{count} other session{'' if count == 1 else 's'} ended.")
    return redirect("your-sign-in")


@require_POST
def demand(request: HttpRequest, pk: int) -> HttpResponse:
    """Demand a second factor of everybody at a firm from today on, or no longer."""
    person, now = signed_in(request), timezone.now()
    firm = get_object_or_404(_firms_of(request), pk=pk)
    require(may(person, DEMAND_SECOND_FACTOR, firm, on=now.date()))
    wanted = request.POST.get("demanded") == "yes"
    try:
        demand_second_factor(firm, demanded=wanted, since=now.date(), by=person, at=now)
    except SigningRefused as refusal:
        messages.warning(request, str(refusal))
    else:
        said = "demands a second factor of everybody from now on" if wanted else "no longer demands one"
        messages.success(request, f"{firm} {said}.")
    return redirect("your-sign-in")


@method_decorator(never_cache, name="dispatch")
class AddApp(ActivateTOTPView):
    """An authenticator app: its secret as a picture and as text, confirmed by a first code."""

    template_name = "signing/add_app.html"

    def form_valid(self, form: Any) -> HttpResponse:
        answer = super().form_valid(form)
        factor = Authenticator.objects.get(user=self.request.user, type=Authenticator.Type.TOTP)
        _tell(self.request, "added", factor)
        messages.success(self.request, "Your authenticator app is set up.")
        return answer

    def form_invalid(self, form: Any) -> HttpResponse:
        return _unprocessable(super().form_invalid(form))

    def get_success_url(self) -> str:
        return _on_from(self)


@method_decorator(never_cache, name="dispatch")
class AddPasskey(AddWebAuthnView):
    """A passkey: kept in the device or on a key, made by the browser."""

    template_name = "signing/add_passkey.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return {**super().get_context_data(**kwargs), "passkeys_work": passkeys_work(self.request)}

    def form_valid(self, form: Any) -> HttpResponse:
        answer = super().form_valid(form)
        factor = (
            Authenticator.objects.filter(user=signed_in(self.request), type=Authenticator.Type.WEBAUTHN)
            .order_by("pk")
            .last()
        )
        assert factor is not None  # noqa: S101 - the line above made it
        _tell(self.request, "added", factor)
        messages.success(self.request, "Your passkey is set up.")
        return answer

    def form_invalid(self, form: Any) -> HttpResponse:
        return _unprocessable(super().form_invalid(form))

    def get_success_url(self) -> str:
        return _on_from(self)


class RemoveApp(DeactivateTOTPView):
    template_name = "signing/remove_app.html"
    success_url = reverse_lazy("your-sign-in")

    def form_valid(self, form: Any) -> HttpResponse:
        factor = self.authenticator
        answer = super().form_valid(form)
        _tell(self.request, "removed", factor)
        messages.success(self.request, "Your authenticator app is removed.")
        return answer


class RemovePasskey(RemoveWebAuthnView):
    template_name = "signing/remove_passkey.html"
    success_url = reverse_lazy("your-sign-in")

    def form_valid(self, form: Any) -> HttpResponse:
        factor = self.get_object()
        answer = super().form_valid(form)
        _tell(self.request, "removed", factor)
        messages.success(self.request, "Your passkey is removed.")
        return answer


@method_decorator(never_cache, name="dispatch")
class RecoveryCodes(ViewRecoveryCodesView):
    template_name = "signing/recovery_codes.html"


class NewRecoveryCodes(GenerateRecoveryCodesView):
    template_name = "signing/new_recovery_codes.html"

    def form_valid(self, form: Any) -> HttpResponse:
        answer = super().form_valid(form)
        factor = Authenticator.objects.get(
            user=signed_in(self.request), type=Authenticator.Type.RECOVERY_CODES
        )
        _tell(self.request, "renewed", factor)
        return answer


def _on_from(view: Any) -> str:
    return reverse("mfa_view_recovery_codes" if view.did_generate_recovery_codes else "your-sign-in")


def _tell(request: HttpRequest, what: str, factor: Authenticator) -> None:
    session = request.session.session_key
    tell_second_factor(signed_in(request), what, factor, session=session, at=timezone.now())


def _unprocessable(answer: HttpResponse) -> HttpResponse:
    answer.status_code = 422
    return answer


def _firms_of(request: HttpRequest) -> Any:
    theirs = Membership.objects.on(timezone.now().date()).filter(person=signed_in(request))
    return Firm.objects.filter(pk__in=theirs.values("firm")).order_by("name", "pk")
