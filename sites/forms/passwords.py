"""A password set by its owner, twice the same, and a name with it where somebody accepts an invitation."""

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from sites.forms.plain import PlainForm
from sites.models import Person

DIFFER = "The two do not agree. Type the same password twice."
HELP = "At least 12 characters. Several words together are easy to keep and hard to guess."


class NewPasswordForm(PlainForm):
    """person: whose password it becomes; it must not resemble their name or address"""

    password = forms.CharField(
        label="New password",
        strip=False,
        help_text=HELP,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label="The same again",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        self.person = person
        super().__init__(*args, **kwargs)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        password, again = data.get("password"), data.get("again")
        if password and again and password != again:
            self.add_error("again", DIFFER)
        elif password:
            try:
                validate_password(password, self.person)
            except ValidationError as faults:
                self.add_error("password", faults)
        return data


class AcceptForm(NewPasswordForm):
    name = forms.CharField(
        label="Your name",
        max_length=120,
        help_text="As it stands on reports and in the log.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )
    field_order = ["name", "password", "again"]
