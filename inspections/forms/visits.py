"""The acts of a visit's life, as forms."""

from datetime import date
from typing import Any

from django import forms

from inspections.actions.visits import Conditions
from inspections.forms.planning import BookedAnywayMixin, offer
from inspections.forms.times import LocalDay, LocalMoment, moments_at, require_near, require_soon_enough
from inspections.models import NOT_TAKEN, Instrument, Reason, Urgency, Visit, VisitState
from sites.forms.plain import PlainForm
from sites.models import Person, Structure, TestPoint, VisitKind

MOST_POINTS = 200


def _else(sentence: str) -> dict[str, str]:
    """What a field says where it was left out."""
    return {"required": sentence}


BLANK = _else(f"Write what it was, or “{NOT_TAKEN}”.")
WHEN = _else("Give the day and the time.")


def _words(
    label: str, longest: int, *, required: bool = False, rows: int = 2, help_text: str = ""
) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": rows})
    return forms.CharField(
        label=label,
        max_length=longest,
        required=required,
        widget=widget,
        help_text=help_text,
        error_messages=_else("Write it in words."),
    )


class StartForm(PlainForm):
    prefix = "start"
    arrived_at = LocalMoment(label="Arrived on site", error_messages=WHEN)

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        moments_at(self, visit.structure.site.time_zone, ["arrived_at"])
        self.visit = visit
        if self.add_prefix("all_the_same") in self.data:
            self._ask_whether_right()

    def _ask_whether_right(self) -> None:
        self.fields["all_the_same"] = forms.BooleanField(
            label="That day is right all the same", required=False
        )

    def clean(self) -> dict[str, Any]:
        """What was begun cannot be begun anew, so a slip is asked about before."""
        told = super().clean() or self.cleaned_data
        if told.pop("all_the_same", False) or "arrived_at" not in told:
            return told
        day = self.visit.structure.site.day_at(told["arrived_at"])
        try:
            require_near(
                day,
                self.visit.planned_on,
                "the day the visit is planned for",
                "Where it is right, say so below.",
            )
        except forms.ValidationError as far:
            self._ask_whether_right()
            self.add_error("arrived_at", far)
        return told


class ConditionsForm(PlainForm):
    """Under what conditions was measured; a blank is refused, what was not taken is named so."""

    prefix = "conditions"
    weather = forms.CharField(max_length=120, error_messages=BLANK, help_text=f"Words, or “{NOT_TAKEN}”.")
    rain_last_7_days = forms.CharField(
        label="Rain in the last seven days",
        error_messages=BLANK,
        max_length=120,
        help_text=f"Such as 6 mm, none, or “{NOT_TAKEN}”.",
    )
    soil = forms.CharField(
        max_length=120, error_messages=BLANK, help_text=f"Such as dry, wet, frozen, or “{NOT_TAKEN}”."
    )
    air_temperature = forms.CharField(
        max_length=120, error_messages=BLANK, help_text=f"Such as 17 °C, or “{NOT_TAKEN}”."
    )

    def __init__(self, data: Any = None, *, visit: Visit) -> None:
        kept = {name: getattr(visit, name) for name in self.base_fields if hasattr(visit, name)}
        super().__init__(data, initial=kept)

    def conditions(self) -> Conditions:
        return Conditions(**self.cleaned_data)


class RestateForm(ConditionsForm):
    """What an amendment corrects of a visit beside its readings."""

    prefix = "restate"
    field_order = ("scope", "agreed_limitations", "escort")
    scope = _words("Scope, where not all of it", 600)
    agreed_limitations = _words("Agreed limitations", 600)
    escort = forms.CharField(label="Escort or witness", max_length=200, required=False)
    reason = _words("Why it is corrected", 400, required=True)


class NoReadingForm(PlainForm):
    """Why points were not read: one reason for one or several of them."""

    prefix = "reason"
    points = forms.ModelMultipleChoiceField(
        TestPoint.objects.none(),
        label="Points",
        widget=forms.CheckboxSelectMultiple,
        error_messages=_else("Choose at least one point."),
    )
    reason = forms.ChoiceField(
        label="Why there is no reading",
        choices=Reason,
        widget=forms.RadioSelect,
        error_messages=_else("Choose the reason."),
    )
    words = _words("What stood in the way, and what would help", 400)
    at = LocalMoment(label="When this was found", error_messages=WHEN)

    def __init__(self, *args: Any, visit: Visit, blank: list[TestPoint], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["points"]
        field.queryset = TestPoint.objects.filter(pk__in=[point.pk for point in blank])
        field.choices = [(point.pk, f"{point.number}, {point.place}") for point in blank[:MOST_POINTS]]
        field.error_messages["invalid_choice"] = (
            "One of these points has its reading or its reason by now. Choose among those still open."
        )
        moments_at(self, visit.structure.site.time_zone, ["at"])


class DefectForm(PlainForm):
    prefix = "defect"
    place = forms.CharField(label="Where", max_length=300, error_messages=_else("Say where it is."))
    words = _words("What is wrong", 600, required=True)
    urgency = forms.ModelChoiceField(
        Urgency.objects.none(),
        label="How urgent",
        widget=forms.RadioSelect,
        empty_label=None,
        error_messages=_else("Choose how urgent it is."),
    )
    point = forms.ModelChoiceField(
        TestPoint.objects.none(), label="At a test point", required=False, empty_label="no particular point"
    )
    found_at = LocalMoment(label="Found", error_messages=WHEN)

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        urgency: Any = self.fields["urgency"]
        urgency.queryset = (
            Urgency.objects.filter(scheme__firm=visit.firm_id)
            .select_related("scheme")
            .order_by("scheme", "rank")
        )
        urgency.label_from_instance = lambda row: f"{row.word}: {row.meaning}"
        point: Any = self.fields["point"]
        point.queryset = TestPoint.objects.filter(structure=visit.structure_id)
        point.label_from_instance = lambda row: f"{row.number}, {row.place}"
        moments_at(self, visit.structure.site.time_zone, ["found_at"])


class CompleteForm(PlainForm):
    prefix = "complete"
    left_at = LocalMoment(label="Left the site", error_messages=WHEN)
    escort = forms.CharField(label="Escort or witness", max_length=200, required=False)
    agreed_limitations = _words(
        "Agreed limitations", 600, help_text="What was agreed not to be looked at, with whom, and why."
    )

    def __init__(self, data: Any = None, *, visit: Visit) -> None:
        kept = {"escort": visit.escort, "agreed_limitations": visit.agreed_limitations}
        super().__init__(data, initial=kept)
        moments_at(self, visit.structure.site.time_zone, ["left_at"])


class WordsForm(PlainForm):
    """Words that go along with an act, where somebody has any."""

    words = _words("Words to go with it", 400)


class HandInForm(WordsForm):
    prefix = "hand-in"


class ApproveForm(WordsForm):
    prefix = "approve"


class SendBackForm(PlainForm):
    prefix = "send-back"
    words = _words("What is to be done before it comes back", 400, required=True)


class WithdrawForm(PlainForm):
    reason = _words("Why the import is withdrawn", 400, required=True)


class PlanForm(BookedAnywayMixin, PlainForm):
    """What a new visit is, when, and who and what goes. A day or a person is never chosen for the planner."""

    kind = forms.ChoiceField(
        label="Kind of visit",
        choices=[("", "Choose a kind"), *VisitKind.choices],
        error_messages=_else("Choose the kind of visit."),
    )
    purpose = forms.CharField(
        max_length=300,
        error_messages=_else("Say what the visit is for."),
        help_text="What brings us there: periodic, after a strike, re-test of…",
    )
    planned_on = LocalDay(
        label="Planned for",
        error_messages=_else("Give the day."),
        help_text="Moving a plan never moves a due date.",
    )
    inspectors = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        error_messages=_else("Choose who goes."),
        widget=forms.CheckboxSelectMultiple,
        help_text="From then on they see the site.",
    )
    instruments = forms.ModelMultipleChoiceField(
        Instrument.objects.none(),
        label="Instruments that go along",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Each must be in calibration through the day of the visit.",
    )
    scope = _words("Scope, where not all of it", 600)

    def __init__(
        self,
        *args: Any,
        structure: Structure,
        inspectors: list[tuple[Person, str]],
        today: date,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["inspectors"]
        field.queryset = Person.objects.filter(pk__in=[person.pk for person, _ in inspectors])
        field.choices = [(person.pk, words) for person, words in inspectors]
        offer(self.fields["instruments"], structure.site.client.firm, today)
        self.ask_anyway_where_sent()
        self.planned = Visit.objects.filter(structure=structure, state=VisitState.PLANNED)
        self.today = today

    def clean_planned_on(self) -> date:
        day: date = self.cleaned_data["planned_on"]
        require_soon_enough(day, self.today)
        return day

    def clean(self) -> dict[str, Any]:
        """The same sent twice, as after going back, is not planned twice."""
        given = super().clean() or self.cleaned_data
        kind, day = given.get("kind"), given.get("planned_on")
        same = self.planned.filter(kind=kind, planned_on=day).first() if kind and day else None
        if same is not None:
            self.add_error(
                "planned_on",
                f"Visit {same.number} of this kind is planned for that day already. Open it to change who goes, or "
                "choose another day.",
            )
        return given


class ReadingsFileForm(PlainForm):
    file = forms.FileField(
        label="A day’s readings, as CSV",
        error_messages=_else("Choose the file first."),
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv"}),
        max_length=None,
    )
