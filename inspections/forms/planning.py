"""Planning, moving and giving up a visit, and what goes along, as forms."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django import forms
from django.db.models import Max, Q

from inspections.actions.booking import NotBookable
from inspections.asked_days import Choice
from inspections.forms.times import LocalDay, require_soon_enough, shown_day
from inspections.models import Instrument, MoveReason, Visit
from inspections.workload import NEEDED
from sites.forms.filters import FilterForm
from sites.forms.plain import PlainForm
from sites.models import Firm, Person
from sites.reach import require_in_reach

MOST_INSTRUMENTS = 200


class BookedAnywayMixin:
    """Asks why it is booked all the same, once something has turned out not to fit the day; not before."""

    fields: dict[str, forms.Field]
    data: Any

    def ask_anyway_where_sent(self) -> None:
        if self.add_prefix("anyway") in self.data:  # type: ignore[attr-defined]
            self._ask()

    def refused(self, found: NotBookable) -> None:
        """Say at the field what does not fit."""
        self._ask()
        for gap in found.gaps:
            self.add_error("anyway", gap)  # type: ignore[attr-defined]

    def _ask(self) -> None:
        self.fields["anyway"] = forms.CharField(
            label="Why it is booked all the same",
            max_length=400,
            required=False,
            widget=forms.Textarea(attrs={"rows": 2}),
            help_text="Stands on the visit from then on, and before the reviewing engineer.",
        )


class ReasonForm(PlainForm):
    """Why: one of a short list, with words where that is not enough."""

    reason = forms.ChoiceField(
        label="Why",
        choices=[("", "Choose the reason"), *MoveReason.choices],
        error_messages={"required": "Choose the reason."},
    )
    words = forms.CharField(
        label="In words",
        max_length=380,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Who asked for it and what was agreed. Needed for “other”.",
    )

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("reason") == MoveReason.OTHER and not told.get("words", "").strip():
            self.add_error("words", "Say what the other reason is.")
        return told


class MoveForm(BookedAnywayMixin, ReasonForm):
    prefix = "move"
    planned_on = LocalDay(
        label="New day",
        error_messages={"required": "Give the new day."},
        help_text="Moving a plan never moves a due date.",
    )
    field_order = ("planned_on", "reason", "words", "anyway")

    def __init__(self, *args: Any, today: date | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask_anyway_where_sent()
        self.today = today

    def clean_planned_on(self) -> date:
        day: date = self.cleaned_data["planned_on"]
        if self.today is not None:
            require_soon_enough(day, self.today)
        return day


class CancelForm(ReasonForm):
    prefix = "cancel"


class AssignForm(BookedAnywayMixin, ReasonForm):
    """Who goes. inspectors: each person with words, as ``inspectors.inspectors_of`` gives them"""

    prefix = "assign"
    inspectors = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        label="Who goes",
        error_messages={"required": "Choose who goes."},
        widget=forms.CheckboxSelectMultiple,
        help_text="From then on they see the site.",
    )
    field_order = ("inspectors", "reason", "words", "anyway")

    def __init__(self, data: Any = None, *, visit: Visit, inspectors: Sequence[tuple[Person, str]]) -> None:
        going = list(visit.inspectors.select_related("person").order_by("person__name", "pk"))
        super().__init__(data, initial={"inspectors": [row.person_id for row in going]})
        named = {person.pk: words for person, words in inspectors}
        for row in going:
            named.setdefault(row.person_id, row.person.name)
        field: Any = self.fields["inspectors"]
        field.queryset = Person.objects.filter(pk__in=named)
        field.choices = list(named.items())
        self.ask_anyway_where_sent()


class TakeAlongForm(BookedAnywayMixin, PlainForm):
    prefix = "take"
    instruments = forms.ModelMultipleChoiceField(
        Instrument.objects.none(),
        label="Instruments that go along",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, data: Any = None, *, visit: Visit) -> None:
        taken = list(visit.instruments.values_list("instrument", flat=True))
        super().__init__(data, initial={"instruments": taken})
        offer(self.fields["instruments"], visit.firm, visit.planned_on)
        self.ask_anyway_where_sent()


def offer(field: Any, firm: Firm, today: date | None) -> None:
    """Let a field choose among the firm's instruments, each with the last day of its calibration.

    today: those in calibration on that day come first
    """
    found = instruments_of(firm, today)
    field.queryset = Instrument.objects.filter(pk__in=[one.pk for one, _ in found])
    field.choices = [(one.pk, words) for one, words in found]


def instruments_of(firm: Firm, today: date | None) -> Sequence[tuple[Instrument, str]]:
    counts = Q(calibrations__replaced_by__isnull=True, calibrations__withdrawal__isnull=True)
    rows = Instrument.objects.filter(firm=firm, retirement__isnull=True).annotate(
        last=Max("calibrations__valid_until", filter=counts)
    )
    found = list(rows.order_by("serial", "pk")[:MOST_INSTRUMENTS])
    if today is not None:
        found.sort(key=lambda one: one.last is None or one.last < today)
    return [
        (
            one,
            f"{one}; {f'calibrated until {shown_day(one.last)}' if one.last else 'no calibration recorded'}",
        )
        for one in found
    ]


class AskedForm(FilterForm):
    """Narrows what is asked for in the months that planning looks at. Sent by GET.

    skills: (key, name) of those that are asked for
    """

    since = LocalDay(label="Asked for from", required=False)
    until = LocalDay(label="Asked for until", required=False)
    which = forms.ChoiceField(
        choices=(("", "Due and due again"), ("first", "due"), ("again", "due again")),
        label="Which",
        required=False,
    )
    visit = forms.ChoiceField(
        choices=(("", "With a visit or without"), ("with", "with a visit"), ("without", "without a visit")),
        label="Planned",
        required=False,
    )
    skill = forms.ChoiceField(label="Skill", required=False)
    instrument = forms.ChoiceField(
        choices=(("", "All instruments"), *NEEDED.items()), label="Instrument", required=False
    )
    # Where a proposal leads to: not asked for in the form, only kept by it.
    opens = forms.DateField(widget=forms.HiddenInput(), validators=[require_in_reach], required=False)

    def __init__(self, data: Any, *, skills: Sequence[tuple[str, str]]) -> None:
        super().__init__(data)
        skill: Any = self.fields["skill"]
        skill.choices = (("", "All skills"), *skills)

    @property
    def choice(self) -> Choice:
        """What was understood of it."""
        return Choice(**{name: value for name, value in self.told.items() if value})
