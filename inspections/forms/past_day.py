"""Which past day, and by when known."""

from datetime import date
from typing import Any

from django import forms
from django.db.models import QuerySet

from inspections.forms.times import LocalDay
from sites.forms.filters import FilterForm
from sites.models import Client


class PastDayForm(FilterForm):
    """Sent by GET. known: empty means by the end of the day itself."""

    day = LocalDay(label="Day", required=False)
    known = LocalDay(label="As known on", required=False)
    client = forms.ModelChoiceField(Client.objects.none(), required=False, empty_label="All clients")
    text = forms.CharField(
        label="Building or site",
        required=False,
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    overdue = forms.ChoiceField(
        choices=(("", "All"), ("was", "overdue as it was"), ("known", "overdue as known then")),
        label="What was owed",
        required=False,
    )
    differing = forms.BooleanField(label="Only where they differ", required=False)

    def __init__(self, data: Any, *, today: date, clients: QuerySet[Client]) -> None:
        super().__init__(data)
        self.today = today
        client: Any = self.fields["client"]
        client.queryset = clients
        if len(clients[:2]) < 2:
            del self.fields["client"]

    def clean_day(self) -> date:
        day: date = self.cleaned_data["day"] or self.today
        if day > self.today:
            raise forms.ValidationError("That day is yet to come. Choose today or a day before it.")
        return day

    def clean_known(self) -> date | None:
        known: date | None = self.cleaned_data["known"]
        if known and known > self.today:
            raise forms.ValidationError(
                "What will be known by then is not yet known. Choose today or a day before it."
            )
        return known

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("known") and cleaned.get("day"):
            cleaned["known"] = cleaned["day"]
        return cleaned
