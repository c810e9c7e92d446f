"""The list of rules, an edition with what became of it, and the structures it stands on."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms
from django.db.models import Case, IntegerField, Q, QuerySet, Value, When

from inspections.actions.rules import Rule, siblings, stands_on
from inspections.forms.times import LocalDay
from inspections.models import Adoption, Author, Dispensation, IntervalRule, LimitRule
from sites.forms.filters import FilterForm
from sites.models import Client, Person, Site, Structure

MODELS: dict[str, type[IntervalRule] | type[LimitRule]] = {"interval": IntervalRule, "limit": LimitRule}
PLACES = ("client", "site__client", "structure__site__client")
WITH = ("proposal__by", "decided__by", *PLACES)
STATES = (
    ("", "All states"),
    ("in force", "in force"),
    ("proposed", "proposed, to be decided"),
    ("approved", "may be adopted"),
    ("ended", "ended"),
)


def kind_of(rule: Rule) -> str:
    """The word that stands in the addresses of this kind of rule."""
    return "limit" if isinstance(rule, LimitRule) else "interval"


class RulesFilter(FilterForm):
    """What the list can be narrowed by. on: the rules in force on that day, as they were adopted"""

    kind = forms.ChoiceField(
        label="Kind", choices=(("interval", "Intervals"), ("limit", "Limits")), required=False
    )
    state = forms.ChoiceField(label="State", choices=STATES, required=False)
    author = forms.ChoiceField(label="Author", choices=[("", "All authors"), *Author.choices], required=False)
    on = LocalDay(label="In force on", required=False)
    text = forms.CharField(
        label="Words", required=False, max_length=100, widget=forms.TextInput(attrs={"type": "search"})
    )

    @property
    def kind_chosen(self) -> str:
        return self.told.get("kind") or "interval"

    def rows(self, person: Person, today: date) -> QuerySet:
        """Editions the person may see, by name and the latest first."""
        told = self.told
        found: QuerySet = MODELS[self.kind_chosen]._default_manager.visible_to(person, on=today)
        if told.get("author"):
            found = found.filter(author=told["author"])
        if told.get("text"):
            words = told["text"]
            found = found.filter(
                Q(title__icontains=words) | Q(code__icontains=words) | Q(author_name__icontains=words)
                | Q(source__icontains=words)
            )  # fmt: skip
        found = _in_state(found, told.get("state") or "", today)
        if told.get("on"):
            found = _in_state(found, "in force", told["on"])
        return found.order_by("code", "firm", "-pk")


def _in_state(rows: QuerySet, state: str, day: date) -> QuerySet:
    if state == "in force":
        return rows.filter(Q(adopted_until__isnull=True) | Q(adopted_until__gte=day), adopted_from__lte=day)
    if state == "ended":
        return rows.filter(adopted_until__lt=day)
    if state == "proposed":
        return rows.filter(adopted_from__isnull=True, proposal__isnull=False, decided__isnull=True)
    if state == "approved":
        open_ = Q(proposal__isnull=True) | Q(decided__approved=True)
        return rows.filter(open_, adopted_from__isnull=True)
    return rows


def by_state(today: date) -> Case:
    """The order of ``rule_words.state_of``: what waits to be decided, what waits to be adopted, in force, ended."""
    whens = (
        (Q(adopted_until__lt=today), 6), (Q(adopted_from__lte=today), 4), (Q(adopted_from__gt=today), 3),
        (Q(proposal__isnull=True), 2), (Q(decided__isnull=True), 0), (Q(decided__approved=True), 1),
    )  # fmt: skip
    return Case(
        *(When(state, then=Value(place)) for state, place in whens),
        default=Value(5),
        output_field=IntegerField(),
    )


def page_of_rules(rows: QuerySet, start: int, stop: int) -> Sequence[Any]:
    """A page of editions with what their cells need, in a constant number of queries."""
    return list(rows.select_related(*WITH)[start:stop])


def editions_of(rule: Rule, person: Person, today: date) -> list[Any]:
    """Every edition of the same rule that the person may see, the latest first."""
    visible = (
        type(rule)._default_manager.visible_to(person, on=today).filter(pk__in=siblings(rule).values("pk"))
    )
    return list(visible.select_related(*WITH).order_by("-pk")[:50])


def adoptions_of(rule: Rule) -> list[Adoption]:
    """When the edition was adopted and ended, by whom, the latest first."""
    return list(rule.adoptions.select_related("by").order_by("-recorded_at", "-pk")[:50])


def dispensations_of(rule: Rule, person: Person, today: date) -> list[Dispensation]:
    """What the author allowed, as far as the person sees the places, the latest first."""
    if isinstance(rule, LimitRule):
        return []
    rows = Dispensation.objects.filter(interval=rule)
    places: dict[str, Any] = {"client": Client.objects, "site": Site.objects, "structure": Structure.objects}
    for name, there in places.items():
        seen = there.visible_to(person, on=today).values("pk")
        rows = rows.filter(Q(**{f"{name}__isnull": True}) | Q(**{f"{name}__in": seen}))
    related = ("by", "structure__site", "site", "client", "withdrawal__by")
    return list(rows.select_related(*related).order_by("-recorded_at", "-pk")[:50])


def structures_of(rule: Rule, person: Person, today: date) -> QuerySet:
    """The structures it stands on that the person may see, by client, site and name."""
    seen = Structure.objects.visible_to(person, on=today).filter(pk__in=stands_on(rule).values("pk"))
    return seen.select_related("site__client").order_by("site__client__name", "site__name", "name", "pk")
