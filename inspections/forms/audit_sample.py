"""What an audit sample is drawn from, how many, and by which seed."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from inspections.audit_sample import MOST_DRAWN, POINTS, VISITS, Wanted
from inspections.forms.times import LocalDay
from sites.forms.plain import PlainForm
from sites.models import Client, Quantity, VisitKind

OF = ((VISITS, "visits that were carried out"), (POINTS, "test points"))


class SampleForm(PlainForm):
    """clients: those the person may see"""

    of = forms.ChoiceField(label="Draw from", choices=OF, initial=VISITS)
    client = forms.ModelChoiceField(Client.objects.none(), required=False, empty_label="All clients")
    since = LocalDay(
        label="From", required=False, help_text="The day a visit ended or a point was read, in UTC."
    )
    until = LocalDay(label="Until", required=False, help_text="This day counts.")
    visit_kind = forms.ChoiceField(
        label="Kind of visit", choices=[("", "all kinds"), *VisitKind.choices], required=False
    )
    quantity = forms.ChoiceField(
        label="Kind of point", choices=[("", "all kinds"), *Quantity.choices], required=False
    )
    number = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=MOST_DRAWN,
        initial=10,
        error_messages={
            "required": "Say how many to draw.",
            "invalid": "Write a whole number, such as 10.",
            "min_value": f"Draw between 1 and {MOST_DRAWN}.",
            "max_value": f"Draw between 1 and {MOST_DRAWN}.",
        },
    )
    seed = forms.CharField(
        max_length=64,
        help_text="Any text. The one proposed is the beginning of the log’s last hash: nobody chose it.",
        error_messages={"required": "Give a seed: without it nobody can draw the same again."},
    )

    def __init__(self, *args: Any, clients: QuerySet[Client], seed: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["client"]
        field.queryset = clients
        self.initial["seed"] = seed

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        since, until = told.get("since"), told.get("until")
        if since and until and until < since:
            self.add_error("until", "This ends before it begins. Give a later day.")
        if told.get("of") == VISITS and told.get("quantity"):
            self.add_error(
                "quantity", "Visits have no kind of point. Leave it at all kinds, or draw from points."
            )
        if told.get("of") == POINTS and told.get("visit_kind"):
            self.add_error(
                "visit_kind", "Points have no kind of visit. Leave it at all kinds, or draw from visits."
            )
        return told

    def wanted(self) -> Wanted:
        told = self.cleaned_data
        kind = told["visit_kind"] if told["of"] == VISITS else told["quantity"]
        return Wanted(
            told["of"], told["number"], told["seed"], told["client"], told["since"], told["until"], kind
        )
