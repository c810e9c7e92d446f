"""Acts about people, as forms: roles, what they reach, authorisations, and the end of each."""

from datetime import date
from typing import Any

from django import forms

from inspections.forms.times import LocalDay
from sites.forms.plain import PlainForm
from sites.models import WHOLE_FIRM_ROLES, Client, Firm, Person, Role, Site, SystemKind, VisitKind

FIRST = {"required": "Give the first day."}
LAST = {"required": "Give the last day."}
BOTH_COUNT = "The last day counts."


def _first_day() -> LocalDay:
    return LocalDay(label="First day", error_messages=FIRST)


def _last_day(*, required: bool = False, help_text: str = BOTH_COUNT) -> LocalDay:
    return LocalDay(label="Last day", required=required, help_text=help_text, error_messages=LAST)


class FromUntilForm(PlainForm):
    """since: begins today unless said otherwise"""

    since = _first_day()
    until = _last_day(help_text=f"{BOTH_COUNT} Leave it empty for an open end.")

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["since"] = today

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        since, until = told.get("since"), told.get("until")
        if since and until and until < since:
            self.add_error("until", "This ends before it begins. Give a later day.")
        return told


def _places(form: forms.Form, firm: Firm) -> None:
    clients: Any = form.fields["clients"]
    clients.queryset = Client.objects.filter(firm=firm)
    sites: Any = form.fields["sites"]
    sites.queryset = (
        Site.objects.filter(client__firm=firm).select_related("client").order_by("client__name", "name", "pk")
    )
    sites.label_from_instance = lambda site: f"{site.client} › {site}"


def _clients() -> forms.ModelMultipleChoiceField:
    return forms.ModelMultipleChoiceField(
        Client.objects.none(), label="Clients, with all their sites", required=False,
        widget=forms.SelectMultiple(attrs={"size": 6}),
    )  # fmt: skip


def _sites() -> forms.ModelMultipleChoiceField:
    return forms.ModelMultipleChoiceField(
        Site.objects.none(), label="Single sites", required=False,
        help_text="Several: hold Ctrl (on a Mac ⌘) while choosing; on a phone, touch each.",
        widget=forms.SelectMultiple(attrs={"size": 6}),
    )  # fmt: skip


class RoleForm(FromUntilForm):
    """A role of the firm; an auditor's has a form of its own."""

    role = forms.ChoiceField(
        choices=[(role.value, role.label) for role in Role if role != Role.AUDITOR],
        error_messages={"required": "Choose the role."},
        help_text="Planner, reviewing engineer, signatory and quality manager see the whole firm.",
    )
    field_order = ["role", "since", "until"]


class ReachForm(FromUntilForm):
    """A client or a single site."""

    client = forms.ModelChoiceField(Client.objects.none(), required=False, empty_label="No whole client")
    site = forms.ModelChoiceField(Site.objects.none(), required=False, empty_label="No single site")
    field_order = ["client", "site", "since", "until"]

    def __init__(self, *args: Any, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        client: Any = self.fields["client"]
        client.queryset = Client.objects.filter(firm=firm)
        site: Any = self.fields["site"]
        site.queryset = (
            Site.objects.filter(client__firm=firm)
            .select_related("client")
            .order_by("client__name", "name", "pk")
        )
        site.label_from_instance = lambda one: f"{one.client} › {one}"

    def clean(self) -> dict[str, Any]:
        told = super().clean()
        if bool(told.get("client")) == bool(told.get("site")) and not self.errors:
            raise forms.ValidationError("Name either a client or a site.")
        return told


class AuthorisationForm(FromUntilForm):
    """Kinds of system by kinds of visit: each pair becomes an authorisation."""

    system_kinds = forms.MultipleChoiceField(
        label="Kinds of system",
        choices=SystemKind,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one kind of system."},
    )
    visit_kinds = forms.MultipleChoiceField(
        label="Kinds of visit",
        choices=VisitKind,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one kind of visit."},
    )
    field_order = ["system_kinds", "visit_kinds", "since", "until"]


class GrantForm(FromUntilForm):
    """What an auditor may look at, and the day on which it ends by itself."""

    clients = _clients()
    sites = _sites()
    until = _last_day(
        required=True, help_text=f"{BOTH_COUNT} On the day after it, the grant has ended by itself."
    )
    field_order = ["clients", "sites", "since", "until"]

    def __init__(self, *args: Any, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _places(self, firm)

    def clean(self) -> dict[str, Any]:
        told = super().clean()
        if not told.get("clients") and not told.get("sites") and not self.errors:
            raise forms.ValidationError("Name at least one client or site that the auditor may look at.")
        return told


class EndForm(PlainForm):
    until = LocalDay(label="Last day", help_text=BOTH_COUNT, error_messages=LAST)

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["until"] = today


class NoFieldsForm(PlainForm):
    """An act that needs nothing but the decision."""


class RemoveFactorsForm(PlainForm):
    reason = forms.CharField(
        label="Why, and how you made sure that it is they who ask",
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Such as: lost the telephone; called back at the number in the firm’s files. "
        "It stands in the log and in the letter to them.",
        error_messages={"required": "Say why, and how you made sure that it is they who ask."},
    )


class InviteForm(FromUntilForm):
    """Somebody new: who they are, their roles, and what the roles reach."""

    name = forms.CharField(
        max_length=120, error_messages={"required": "Give the name as it stands on reports."}
    )
    email = forms.EmailField(
        label="E-mail address",
        max_length=254,
        help_text="The link to set a password goes there; it works once, for seven days.",
        error_messages={
            "required": "Give the address that the link goes to.",
            "invalid": "This is no e-mail address. It reads like name@firm.example.",
        },
    )
    roles = forms.MultipleChoiceField(
        choices=Role,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one role."},
    )
    clients = _clients()
    sites = _sites()
    until = _last_day(
        help_text=f"{BOTH_COUNT} An auditor’s grant needs one; else leave it empty for an open end."
    )
    field_order = ["name", "email", "roles", "clients", "sites", "since", "until"]

    def __init__(self, *args: Any, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _places(self, firm)

    def clean_email(self) -> str:
        email = self.cleaned_data["email"]
        if Person.objects.filter(email=email).exists():
            raise forms.ValidationError("Somebody with this e-mail address is already known.")
        return email

    def clean(self) -> dict[str, Any]:
        told = super().clean()
        roles = told.get("roles") or []
        if Role.AUDITOR in roles and not told.get("until") and "until" not in self.errors:
            self.add_error("until", "An auditor’s grant ends by itself: give its last day.")
        limited = [role for role in roles if role not in WHOLE_FIRM_ROLES and role != Role.INSPECTOR]
        if limited and not told.get("clients") and not told.get("sites"):
            self.add_error("clients", f"Name a client or a site that the {limited[0]} may look at.")
        return told
