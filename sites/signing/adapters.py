"""Where the sign-in library asks us: who may, in which words, and with whose keys.

Its table of e-mail addresses stays empty. The address lies on the person alone, so that erasing it there erases
it everywhere: the password is checked by Django's own backend, and nothing here asks that table.
"""

import base64
import logging
import secrets
import time
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.authentication import get_authentication_records
from allauth.core import context
from allauth.mfa.adapter import DefaultMFAAdapter
from cryptography.fernet import Fernet, InvalidToken
from django.contrib import messages
from django.contrib.auth import authenticate
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.http import url_has_allowed_host_and_scheme

from sites.actions.attempts import email_seal, record_attempt, record_sign_in
from sites.models import Outcome, Person
from sites.signing.sessions import begin

logger = logging.getLogger(__name__)
WRONG = "That e-mail and password do not belong together. Nothing was changed."
TOO_MANY = "Too many attempts in a short time. Wait five minutes, then try again. Nothing was changed."
NOT_ACCEPTED = (
    "That was not accepted. Wait for the next code, or use another of your ways. Nothing was changed."
)
RECENT_SECONDS = 300


class Signing(DefaultAccountAdapter):
    """Passwords, throttling, and what becomes of an attempt."""

    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "email_password_mismatch": WRONG,
        "invalid_login": WRONG,
        "incorrect_password": "That is not your password. Nothing was changed.",
        "too_many_login_attempts": TOO_MANY,
        "rate_limited": TOO_MANY,
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Nobody enters themselves: they are invited."""
        return False

    def is_safe_url(self, url: str | None) -> bool:
        """A way on is followed only within this site, at the host that was asked."""
        request = context.request
        return url_has_allowed_host_and_scheme(
            url, allowed_hosts={request.get_host()}, require_https=request.is_secure()
        )

    def add_message(
        self, request: HttpRequest, *args: Any, message: str | None = None, **kwargs: Any
    ) -> None:
        """The library's own sentences are left out; ours are added where the act is called."""

    def pre_authenticate(self, request: HttpRequest, **credentials: Any) -> None:
        try:
            super().pre_authenticate(request, **credentials)
        except ValidationError:
            self._attempt(request, credentials, Outcome.THROTTLED)
            raise

    def authenticate(self, request: HttpRequest, **credentials: Any) -> Person | None:
        """By Django's backend, which hashes a password also where the address is unknown or has none."""
        self.pre_authenticate(request, **credentials)
        person = authenticate(request, **credentials)
        if isinstance(person, Person):
            self._rollback_login_failed_rl_usage()
            return person
        self._attempt(request, credentials, Outcome.WRONG)
        return None

    def reauthenticate(self, user: Any, password: str) -> bool:
        found = self.authenticate(context.request, email=user.email, password=password)
        return found is not None and found.pk == user.pk

    def is_reauthentication_required(self, *, app: str, **kwargs: Any) -> bool:
        """Not within five minutes after signing in or after saying the password again."""
        request = context.request
        records = get_authentication_records(request, request.user)
        return not any(time.time() - record["at"] < RECENT_SECONDS for record in records)

    def get_reauthentication_methods(self, user: Any) -> list[dict]:
        """By password: everybody has one."""
        if not user.is_authenticated or not user.has_usable_password():
            return []
        return [{"id": "reauthenticate", "description": "", "url": reverse("account_reauthenticate")}]

    def login(self, request: HttpRequest, user: Any) -> None:
        super().login(request, user)
        begin(request)
        record_sign_in(user, address=self.get_client_ip(request), at=timezone.now())

    def respond_user_inactive(self, request: HttpRequest, user: Any) -> HttpResponse:
        messages.error(request, WRONG)
        return redirect("sign-in")

    def _get_login_attempts_cache_key(self, request: HttpRequest, **credentials: Any) -> str:
        """One count for an address however it is spelled and by whichever host name it is tried; it names none."""
        return email_seal(str(credentials.get("email", "")))

    def _attempt(self, request: HttpRequest, credentials: dict[str, Any], outcome: str) -> None:
        email = str(credentials.get("email", ""))
        record_attempt(email, address=self.get_client_ip(request), outcome=outcome, at=timezone.now())


class SecondFactors(DefaultMFAAdapter):
    """Secrets of authenticator apps and recovery codes are stored under the installation's signing key."""

    error_messages = {
        **DefaultMFAAdapter.error_messages,
        "incorrect_code": NOT_ACCEPTED,
        "rate_limited": TOO_MANY,
    }

    def encrypt(self, text: str) -> str:
        return _seal().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """The secret; where another key sealed it, one that fits no code, so that nobody gets in by it."""
        try:
            return _seal().decrypt(encrypted_text.encode()).decode()
        except InvalidToken:
            logger.warning("A second factor was stored under another signing key: it accepts no code.")
            return base64.b32encode(secrets.token_bytes(20)).decode()

    def generate_authenticator_name(self, user: Any, type: Any) -> str:  # noqa: A002 - the library's word
        return "Passkey"


def _seal() -> Fernet:
    key = salted_hmac("downlead.second-factors", "key", algorithm="sha256").digest()
    return Fernet(base64.urlsafe_b64encode(key))
