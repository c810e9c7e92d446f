"""What a list can be narrowed by."""

from collections.abc import Callable
from datetime import date
from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from inspections.models import DueDate
from sites.models import Client, Site, Structure

STATES = (
    ("overdue", "overdue"), ("soon", "in grace or due within 60 days"), ("book", "to book within 13 weeks"),
    ("stopped", "suspended or ended"),
)  # fmt: skip
DEMANDS = (("visual", "visual"), ("complete", "complete"), ("electrical", "electrical"))

MOST_KEY = 2**63 - 1  # what a key can hold


class DueFilter(django_filters.FilterSet):
    """Narrows obligations. The state is answered by ``due_list.sections``, which also gives the order.

    clients: those the person may see
    named: gives the obligations to start from where a text is asked for, since it decides how they are found
    """

    client = django_filters.ModelChoiceFilter(
        queryset=Client.objects.none(), label="Client", empty_label="All clients"
    )
    state = django_filters.ChoiceFilter(
        choices=STATES, label="State", empty_label="All that run", method="leave"
    )
    demand = django_filters.ChoiceFilter(choices=DEMANDS, label="Demand", empty_label="All demands")
    text = django_filters.CharFilter(
        method="leave",
        label="Structure or site",
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    # Where a count leads to: not asked for in the form, only kept by it.
    site = django_filters.NumberFilter(widget=forms.HiddenInput(), max_value=MOST_KEY)
    week = django_filters.DateFilter(method="leave", widget=forms.HiddenInput())

    class Meta:
        model = DueDate
        fields = ["client", "state", "demand", "site"]

    def __init__(
        self,
        data: Any,
        queryset: QuerySet[DueDate],
        *,
        clients: QuerySet[Client],
        named: Callable[[str], QuerySet[DueDate]],
    ) -> None:
        super().__init__(data, queryset)
        self.named = named
        self.form.fields["client"].queryset = clients

    def filter_queryset(self, queryset: QuerySet[DueDate]) -> QuerySet[DueDate]:
        text = self.form.cleaned_data.get("text")
        return super().filter_queryset(self.named(text) if text else queryset)

    def leave(self, rows: QuerySet[DueDate], _name: str, _value: str) -> QuerySet[DueDate]:
        return rows

    @property
    def state_chosen(self) -> str:
        return self.form.cleaned_data.get("state", "") if self.form.is_valid() else ""

    @property
    def week_chosen(self) -> date | None:
        """The Monday of the week asked for."""
        return self.form.cleaned_data.get("week") if self.form.is_valid() else None


class SiteFilter(django_filters.FilterSet):
    """Narrows sites by part of the site's or the client's name."""

    text = django_filters.CharFilter(
        method="named",
        label="Site or client",
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search"}),
    )

    class Meta:
        model = Site
        fields: list[str] = []

    def named(self, rows: QuerySet[Site], _name: str, value: str) -> QuerySet[Site]:
        return rows.filter(Q(name__icontains=value) | Q(client__name__icontains=value))


BUILDING_STATES = (
    ("urgent", "with urgent defects"), ("defects", "with open defects"), ("overdue", "overdue"),
    ("soon", "in grace or due within 60 days"),
    ("stopped", "suspended or ended"), ("nothing", "nothing asked for"),
)  # fmt: skip


class BuildingFilter(django_filters.FilterSet):
    """Narrows buildings. The state is answered by ``portfolio.Portfolio.sections``, which also gives the order.

    clients: those the person may see
    """

    client = django_filters.ModelChoiceFilter(
        queryset=Client.objects.none(), field_name="site__client", label="Client", empty_label="All clients"
    )
    state = django_filters.ChoiceFilter(
        choices=BUILDING_STATES, label="State", empty_label="All", method="leave"
    )
    text = django_filters.CharFilter(
        method="named",
        label="Building or site",
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search"}),
    )

    class Meta:
        model = Structure
        fields: list[str] = []

    def __init__(self, data: Any, queryset: QuerySet[Structure], *, clients: QuerySet[Client]) -> None:
        super().__init__(data, queryset)
        self.form.fields["client"].queryset = clients
        if len(clients[:2]) < 2:
            del self.form.fields["client"]

    def leave(self, rows: QuerySet[Structure], _name: str, _value: str) -> QuerySet[Structure]:
        return rows

    def named(self, rows: QuerySet[Structure], _name: str, value: str) -> QuerySet[Structure]:
        return rows.filter(Q(name__icontains=value) | Q(site__name__icontains=value))

    @property
    def state_chosen(self) -> str:
        return self.form.cleaned_data.get("state", "") if self.form.is_valid() else ""
