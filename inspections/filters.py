"""What a list can be narrowed by."""

from collections.abc import Callable
from datetime import date
from typing import Any

import django_filters
from django import forms
from django.db.models import Exists, OuterRef, Q, QuerySet

from inspections.forms.times import LocalDay
from inspections.models import DueDate, Visit, VisitPerson, VisitState
from sites.forms.filters import ListFilter, words
from sites.models import Client, Site, Structure, TestPoint, VisitKind
from sites.reach import require_in_reach

STATES = (
    ("overdue", "overdue"), ("soon", "in grace or due within 60 days"), ("book", "to book within 13 weeks"),
    ("stopped", "suspended or ended"),
)  # fmt: skip
DEMANDS = (("visual", "visual"), ("complete", "complete"), ("electrical", "electrical"))

MOST_KEY = 2**63 - 1  # what a key can hold


class DayFilter(django_filters.Filter):
    """A first or last day, that day itself included."""

    field_class = LocalDay


class DueFilter(ListFilter):
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
    since = DayFilter(field_name="due", lookup_expr="gte", label="Due from")
    until = DayFilter(field_name="due", lookup_expr="lte", label="Due until")
    text = django_filters.CharFilter(
        method="leave",
        label="Structure or site",
        max_length=100,
        widget=forms.TextInput(attrs={"type": "search"}),
    )
    # Where a count leads to: not asked for in the form, only kept by it.
    site = django_filters.NumberFilter(label="Site", widget=forms.HiddenInput(), max_value=MOST_KEY)
    week = django_filters.DateFilter(
        label="Week", method="leave", widget=forms.HiddenInput(), validators=[require_in_reach]
    )

    class Meta:
        model = DueDate
        fields = ["site"]

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

    @property
    def state_chosen(self) -> str:
        return self.told.get("state") or ""

    @property
    def week_chosen(self) -> date | None:
        """The Monday of the week asked for."""
        return self.told.get("week")


class SiteFilter(ListFilter):
    """Narrows sites by part of the site's or the client's name."""

    text = words("Site or client")

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


class BuildingFilter(ListFilter):
    """Narrows buildings. The state is answered by ``portfolio.Portfolio.sections``, which also gives the order.

    clients: those the person may see
    """

    client = django_filters.ModelChoiceFilter(
        queryset=Client.objects.none(), field_name="site__client", label="Client", empty_label="All clients"
    )
    state = django_filters.ChoiceFilter(
        choices=BUILDING_STATES, label="State", empty_label="All", method="leave"
    )
    text = words("Building or site")

    class Meta:
        model = Structure
        fields: list[str] = []

    def __init__(self, data: Any, queryset: QuerySet[Structure], *, clients: QuerySet[Client]) -> None:
        super().__init__(data, queryset)
        self.form.fields["client"].queryset = clients
        if len(clients[:2]) < 2:
            self.form.fields["client"].widget = forms.HiddenInput()

    def named(self, rows: QuerySet[Structure], _name: str, value: str) -> QuerySet[Structure]:
        return rows.filter(Q(name__icontains=value) | Q(site__name__icontains=value))

    @property
    def state_chosen(self) -> str:
        return self.told.get("state") or ""


class VisitFilter(ListFilter):
    """Narrows visits. clients: those the person may see"""

    state = django_filters.ChoiceFilter(choices=VisitState.choices, label="State", empty_label="All states")
    kind = django_filters.ChoiceFilter(choices=VisitKind.choices, label="Kind", empty_label="All kinds")
    client = django_filters.ModelChoiceFilter(
        queryset=Client.objects.none(),
        field_name="structure__site__client",
        label="Client",
        empty_label="All clients",
    )
    since = DayFilter(field_name="planned_on", lookup_expr="gte", label="Planned from")
    until = DayFilter(field_name="planned_on", lookup_expr="lte", label="Planned until")
    text = words("Structure, site or inspector")

    class Meta:
        model = Visit
        fields: list[str] = []

    def __init__(self, data: Any, queryset: QuerySet[Visit], *, clients: QuerySet[Client]) -> None:
        super().__init__(data, queryset)
        self.form.fields["client"].queryset = clients

    def named(self, rows: QuerySet[Visit], _name: str, value: str) -> QuerySet[Visit]:
        goes = VisitPerson.objects.filter(visit=OuterRef("pk"), person__name__icontains=value)
        place = Q(structure__name__icontains=value) | Q(structure__site__name__icontains=value)
        return rows.filter(place | Exists(goes))


class StructureGapFilter(ListFilter):
    """Narrows structures with something missing. clients: those the person may see"""

    client = django_filters.ModelChoiceFilter(
        queryset=Client.objects.none(), field_name="site__client", label="Client", empty_label="All clients"
    )
    text = words("Structure or site")

    class Meta:
        model = Structure
        fields: list[str] = []

    def __init__(self, data: Any, queryset: QuerySet[Any], *, clients: QuerySet[Client]) -> None:
        super().__init__(data, queryset)
        self.form.fields["client"].queryset = clients

    def named(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        return rows.filter(Q(name__icontains=value) | Q(site__name__icontains=value))


class PointGapFilter(StructureGapFilter):
    """The same for points."""

    client = django_filters.ModelChoiceFilter(
        queryset=Client.objects.none(),
        field_name="structure__site__client",
        label="Client",
        empty_label="All clients",
    )
    text = words("Structure, site or place")

    class Meta:
        model = TestPoint
        fields: list[str] = []

    def named(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        names = Q(structure__name__icontains=value) | Q(structure__site__name__icontains=value)
        return rows.filter(names | Q(place__icontains=value))
