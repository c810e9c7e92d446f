"""What the list of defects can be narrowed by."""

from datetime import date, timedelta
from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from inspections import defect_list
from inspections.filters import MOST_KEY, DayFilter
from inspections.local_days import day_begins
from inspections.models import Defect, Urgency
from inspections.rules.defects import State
from sites.forms.filters import ListFilter, words
from sites.models import Client

DANGER, TO_ACT, ENDING, ALL = "danger", "to-act", "ending", "all"
STATES = (
    (DANGER, "open, told as dangerous"),
    (TO_ACT, "to be acted on"),
    *((state.value, state.value) for state in State),
    (ENDING, "accepted, ending within 60 days"),
    (ALL, "all, settled ones too"),
)


class DefectFilter(ListFilter):
    """Narrows defects ``with_state``. Without a state, all that are neither closed nor withdrawn.

    clients: those the person may see; the urgencies are those of their firms
    """

    state = django_filters.ChoiceFilter(
        choices=STATES, label="State", empty_label="All that stand", method="leave"
    )
    urgency = django_filters.ModelChoiceFilter(
        queryset=Urgency.objects.none(), label="How urgent", empty_label="All urgencies"
    )
    client = django_filters.ModelChoiceFilter(
        queryset=Client.objects.none(),
        label="Client",
        empty_label="All clients",
        field_name="structure__site__client",
    )
    since = DayFilter(method="found_since", label="Found from")
    until = DayFilter(method="found_until", label="Found until")
    text = words("Site, structure or words")

    # Where a count leads to: not asked for in the form, only kept by it.
    structure = django_filters.NumberFilter(widget=forms.HiddenInput(), max_value=MOST_KEY)

    class Meta:
        model = Defect
        fields = ["structure"]

    def __init__(self, data: Any, queryset: QuerySet[Any], *, clients: QuerySet[Client]) -> None:
        super().__init__(data, queryset)
        self.form.fields["client"].queryset = clients
        urgency: Any = self.form.fields["urgency"]
        urgency.queryset = (
            Urgency.objects.filter(scheme__firm__in=clients.order_by().values("firm"))
            .select_related("scheme")
            .order_by("scheme__name", "rank")
        )
        urgency.label_from_instance = lambda row: f"{row.word} ({row.scheme.name})"

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        rows = super().filter_queryset(queryset)
        state = self.form.cleaned_data.get("state", "")
        if state == DANGER:
            return rows.filter(is_danger=True)
        if state == TO_ACT:
            return rows.filter(state__in=defect_list.TO_ACT_ON)
        if state == ENDING:
            return defect_list.ending_soon(rows)
        if state == ALL:
            return rows
        return rows.filter(state=state) if state else defect_list.that_stand(rows)

    def found_since(self, rows: QuerySet[Any], _name: str, value: date) -> QuerySet[Any]:
        return rows.filter(found_at__gte=day_begins("structure__site__time_zone", value))

    def found_until(self, rows: QuerySet[Any], _name: str, value: date) -> QuerySet[Any]:
        return rows.filter(found_at__lt=day_begins("structure__site__time_zone", value + timedelta(days=1)))

    def named(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        names = ("structure__name", "structure__site__name", "place", "words")
        asked = Q()
        for name in names:
            asked |= Q(**{f"{name}__icontains": value})
        return rows.filter(asked)
