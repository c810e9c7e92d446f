"""A forgotten password: a link by mail, once, for two hours; and changing a known one."""

from typing import Any

from allauth.core import ratelimit
from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.tokens import default_token_generator
from django.contrib.auth.views import INTERNAL_RESET_SESSION_TOKEN, PasswordResetConfirmView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from sites import mail
from sites.actions.attempts import email_seal
from sites.actions.signing import LinkOver, change_password, renew_password
from sites.forms.signing import ChangePasswordForm, ForgottenForm, RenewForm
from sites.models import Person
from sites.views.signed_in import signed_in


def renewal_link(person: Person) -> str:
    """The whole address of the page where this person sets a new password, once, within two hours."""
    key = urlsafe_base64_encode(force_bytes(person.pk))
    path = reverse("new-password", args=[key, default_token_generator.make_token(person)])
    return f"{settings.PUBLIC_URL.rstrip('/')}{path}"


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def forgotten(request: HttpRequest) -> HttpResponse:
    """Ask for the link. The answer is the same whether or not the address is known, and does not wait for the mail."""
    form = ForgottenForm(request.POST or None)
    if not form.is_valid():
        context = {"form": form, "mail": mail.has_server()}
        return render(request, "signing/forgotten.html", context, status=422 if form.is_bound else 200)
    email: str = form.cleaned_data["email"]
    if refused := ratelimit.consume_or_429(request, action="reset_password", key=email_seal(email)):
        return refused
    person = Person.objects.filter(email=email, is_active=True).first()
    if person is not None and person.has_usable_password():
        mail.send_aside(
            str(person.email),
            subject="A new password for Downlead",
            template="mail/new_password.txt",
            facts={"name": person.name, "link": renewal_link(person)},
        )
    return redirect("link-sent")


@login_not_required
@require_http_methods(["GET", "HEAD"])
def link_sent(request: HttpRequest) -> HttpResponse:
    return render(request, "signing/link_sent.html", {"mail": mail.has_server()})


class NewPassword(PasswordResetConfirmView):
    """Behind the mailed link. The secret leaves the address at once and waits in the session."""

    form_class = RenewForm  # type: ignore[assignment]
    template_name = "signing/new_password.html"

    def form_valid(self, form: Any) -> HttpResponse:
        token = self.request.session.pop(INTERNAL_RESET_SESSION_TOKEN)
        try:
            renew_password(
                form.person, token=token, password=form.cleaned_data["password"], at=timezone.now()
            )
        except LinkOver:
            self.validlink = False
            return self.render_to_response(self.get_context_data(form=None))
        messages.success(self.request, "Your new password is set. Sign in with it now.")
        return redirect("sign-in")

    def render_to_response(self, context: dict[str, Any], **kwargs: Any) -> Any:
        answer = super().render_to_response(context, **kwargs)
        form = context.get("form")
        if not self.validlink:
            answer.status_code = 410
        elif form is not None and form.is_bound:
            answer.status_code = 422
        return answer


@never_cache
@sensitive_post_parameters("current", "password", "again")
@require_http_methods(["GET", "HEAD", "POST"])
def change(request: HttpRequest) -> HttpResponse:
    """The known password for a new one; other sessions end, this one goes on under a new key."""
    form = ChangePasswordForm(request.POST or None, person=signed_in(request))
    if not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(request, "signing/change_password.html", {"form": form}, status=status)
    key = request.session.session_key
    person = change_password(
        signed_in(request), password=form.cleaned_data["password"], session=key, at=timezone.now()
    )
    update_session_auth_hash(request, person)
    UserSession.objects.filter(session_key=key).update(session_key=request.session.session_key)
    messages.success(request, "Your password is changed. Every other session of yours has ended.")
    return redirect("your-sign-in")
