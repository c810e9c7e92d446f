"""Signing in by e-mail, and out."""

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest
from django.urls import reverse

WRONG = "That e-mail and password do not belong together. Nothing was changed."


class SignInForm(AuthenticationForm):
    """One sentence for every refusal: it tells nobody whether the address is known, or its person retired."""

    error_messages = {"invalid_login": WRONG, "inactive": WRONG}


class SignIn(LoginView):
    """The session gets a new key; a way on is followed only within this site."""

    template_name = "sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def get_redirect_url(self, request: HttpRequest | None = None) -> str:
        """Where to go on. Whoever pressed “Sign out” after the session had ended must not be sent back there."""
        wanted = super().get_redirect_url()
        return "" if wanted.startswith(reverse("sign-out")) else wanted


class SignOut(LogoutView):
    """By POST only."""

    http_method_names = ["post", "options"]
