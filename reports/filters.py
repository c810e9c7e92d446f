"""What the list of reports can be narrowed by."""

from datetime import date, timedelta
from typing import Any

import django_filters
from django.db.models import Q, QuerySet

from inspections.filters import DayFilter
from inspections.local_days import day_begins
from reports.models import Issue
from reports.tables import BEING_MADE
from sites.forms.filters import ListFilter, words
from sites.models import Client

STATES = tuple((state, state) for state in (BEING_MADE, "issued", "replaced", "withdrawn"))
ZONE = "visit__structure__site__time_zone"


class ReportFilter(ListFilter):
    """Narrows issues ``with_life``; days are those at the site. clients: those the person may see"""

    client = django_filters.ModelChoiceFilter(
        queryset=Client.objects.none(),
        field_name="visit__structure__site__client",
        label="Client",
        empty_label="All clients",
    )
    state = django_filters.ChoiceFilter(
        choices=STATES, label="State", empty_label="All states", method="in_state"
    )
    since = DayFilter(method="issued_since", label="Issued from")
    until = DayFilter(method="issued_until", label="Issued until")
    text = words("Structure, site or number")

    class Meta:
        model = Issue
        fields: list[str] = []

    def __init__(self, data: Any, queryset: QuerySet[Any], *, clients: QuerySet[Client]) -> None:
        super().__init__(data, queryset)
        self.form.fields["client"].queryset = clients

    def in_state(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        if value == "replaced":
            return rows.filter(replaced=True)
        if value == "withdrawn":
            return rows.filter(replaced=False, withdrawn=True)
        return rows.filter(replaced=False, withdrawn=False, file__isnull=value == BEING_MADE)

    def issued_since(self, rows: QuerySet[Any], _name: str, value: date) -> QuerySet[Any]:
        return rows.filter(issued_at__gte=day_begins(ZONE, value))

    def issued_until(self, rows: QuerySet[Any], _name: str, value: date) -> QuerySet[Any]:
        return rows.filter(issued_at__lt=day_begins(ZONE, value + timedelta(days=1)))

    def named(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        asked = Q(visit__structure__name__icontains=value) | Q(visit__structure__site__name__icontains=value)
        if value.isascii() and value.isdecimal() and len(value) < 10:
            asked |= Q(number=int(value))
        return rows.filter(asked)
