"""Forms at the door and of one's own sign-in."""

from typing import Any

from allauth.account.adapter import get_adapter
from allauth.account.forms import LoginForm, ReauthenticateForm
from allauth.mfa.adapter import get_adapter as get_second_factors
from allauth.mfa.webauthn.forms import AddWebAuthnForm, LoginWebAuthnForm
from django import forms
from fido2.webauthn import AuthenticationResponse

from sites.forms.passwords import NewPasswordForm
from sites.forms.plain import PlainForm


class SignInForm(PlainForm, LoginForm):
    """E-mail and password. One sentence for every refusal: it tells nobody whether an address is known."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # Not an e-mail field: what is no address is answered like an address nobody has.
        self.fields["login"] = forms.CharField(max_length=254)

    def add_prefix(self, field_name: str) -> str:
        return super().add_prefix("username" if field_name == "login" else field_name)


class AgainForm(PlainForm, ReauthenticateForm):
    """The password once more, before something about the sign-in is changed."""

    password = forms.CharField(
        label="Password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class AddPasskeyForm(PlainForm, AddWebAuthnForm):
    name = forms.CharField(label="What to call it", max_length=60, required=False)


class PasskeyForm(PlainForm, LoginWebAuthnForm):
    """A passkey alone, in place of a password: it must have asked its owner's finger or PIN.

    The library asks for that in the challenge alone, and takes the challenge of a second step here too, where it does
    not: whoever has an account of their own and somebody else's key could then sign in as them.
    """

    def clean_credential(self) -> Any:
        told = self.cleaned_data["credential"]
        found = super().clean_credential()  # the signature covers what the key says of its owner
        if not AuthenticationResponse.from_dict(told).response.authenticator_data.is_user_verified():
            raise get_second_factors().validation_error("incorrect_code")
        return found


class ForgottenForm(PlainForm):
    email = forms.EmailField(
        label="E-mail", max_length=254, widget=forms.EmailInput(attrs={"autocomplete": "username"})
    )


class RenewForm(NewPasswordForm):
    """As Django's page behind a mailed link calls its form: with the person first."""

    def __init__(self, user: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, person=user, **kwargs)


class ChangePasswordForm(NewPasswordForm):
    current = forms.CharField(
        label="Current password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    field_order = ["current", "password", "again"]

    def clean_current(self) -> str:
        """Guesses are counted like those at the sign-in."""
        current: str = self.cleaned_data["current"]
        if not get_adapter().reauthenticate(self.person, current):
            raise get_adapter().validation_error("incorrect_password")
        return current
