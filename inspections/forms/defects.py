"""What became of a defect, as forms: each act its own, on the defect's page and on the visit's."""

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms

from inspections.defect_life import Life
from inspections.forms.times import LocalDay, LocalMoment, moments_at, shown_day
from inspections.models import Defect, Reading, Visit
from inspections.tables import figures
from sites.forms.plain import PlainForm

MOST_NAMED = 50


def _else(sentence: str) -> dict[str, str]:
    return {"required": sentence}


WHEN = _else("Give the day and the time.")


def _words(label: str, *, longest: int = 600, required: str = "", help_text: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=longest,
        required=bool(required),
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=help_text,
        error_messages=_else(required or "Write it in words."),
    )


class DefectActForm(PlainForm):
    """A form about one defect; its moments are those of the site."""

    def __init__(self, data: Any = None, *, defect: Defect, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        moments_at(self, defect.structure.site.time_zone, list(self.fields))


class TellForm(DefectActForm):
    prefix = "told"
    to_whom = forms.CharField(
        label="Who was told",
        max_length=200,
        help_text="Name and office, such as M. Example, caretaker.",
        error_messages=_else("Say who was told."),
    )
    how = forms.CharField(
        label="How",
        max_length=120,
        help_text="Such as by word of mouth, by telephone, in writing.",
        error_messages=_else("Say how they were told."),
    )
    told_at = LocalMoment(label="When", error_messages=WHEN)
    words = _words("What was said, and what was answered")


class MadeSafeForm(DefectActForm):
    prefix = "made-safe"
    words = _words(
        "What stands there for the time being",
        required="Say what was done.",
        help_text="Such as a strap fitted, an area closed off. It stays a defect until repair and re-test.",
    )
    done_by = forms.CharField(label="By whom", max_length=200, error_messages=_else("Say by whom."))
    done_at = LocalMoment(label="Since when", error_messages=WHEN)


class RepairForm(DefectActForm):
    prefix = "repaired"
    words = _words("What was done", required="Say what was done.")
    done_by = forms.CharField(label="By whom", max_length=200, error_messages=_else("Say by whom."))
    done_at = LocalMoment(label="When", error_messages=WHEN)


class RetestForm(PlainForm):
    """The reading or the visit that re-tested it, among those after the repair."""

    prefix = "retest"
    named = forms.ChoiceField(
        label="Re-tested by",
        widget=forms.RadioSelect,
        error_messages=_else("Name the reading or the visit."),
    )
    words = _words("What was seen", help_text="Needed where a visit without a reading is named.")

    def __init__(self, data: Any = None, *, readings: Iterable[Reading], visits: Iterable[Visit]) -> None:
        super().__init__(data)
        self.readings = {f"reading-{row.pk}": row for row in readings}
        self.visits = {f"visit-{row.pk}": row for row in visits}
        field: Any = self.fields["named"]
        field.choices = [
            *((key, reading_words(row)) for key, row in self.readings.items()),
            *((key, visit_words(row)) for key, row in self.visits.items()),
        ]
        field.error_messages["invalid_choice"] = "Choose one of these; others are not after the repair."

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("named") in self.visits and not told.get("words", "").strip():
            self.add_error("words", "Say what was seen at that visit.")
        return told

    @property
    def reading(self) -> Reading | None:
        return self.readings.get(self.cleaned_data["named"])

    @property
    def visit(self) -> Visit | None:
        return self.visits.get(self.cleaned_data["named"])


class AcceptForm(PlainForm):
    """By somebody of the office: who accepted it for the owner, and where that is written."""

    prefix = "accepted"
    accepted_by = forms.CharField(
        label="Who accepted it for the owner",
        max_length=200,
        error_messages=_else("Say who accepted it."),
    )
    document = forms.CharField(
        label="In which document",
        max_length=300,
        help_text="Such as letter of 3 May 2027.",
        error_messages=_else("Name the document that says so."),
    )
    until = LocalDay(
        label="Until",
        help_text="That day included. On the day after it stands open again by itself.",
        error_messages=_else("Give the last day."),
    )
    words = _words("On which grounds")


class AcceptOwnForm(PlainForm):
    """By the facility manager of the site, who accepts it themselves."""

    prefix = "accepted"
    until = LocalDay(
        label="Until",
        help_text="That day included. On the day after it stands open again by itself.",
        error_messages=_else("Give the last day."),
    )
    words = _words("On which grounds", required="Say on which grounds you accept it.")
    document = forms.CharField(label="In which document", max_length=300, required=False)


class WithdrawDefectForm(PlainForm):
    prefix = "withdrawn"
    reason = _words(
        "Why it is withdrawn", required="Say why.", help_text="It stays on record, with this reason."
    )


class SeenAgainForm(DefectActForm):
    """Seen again at the visit that is on site."""

    prefix = "seen-again"
    seen_at = LocalMoment(label="When", error_messages=WHEN)
    words = _words("What is to be said of it now")


class _AtVisit(PlainForm):
    """Several defects of one structure at once, during a visit."""

    defects = forms.MultipleChoiceField(
        label="Defects", widget=forms.CheckboxSelectMultiple, error_messages=_else("Choose at least one.")
    )

    def __init__(self, data: Any = None, *, visit: Visit, lives: Sequence[Life]) -> None:
        super().__init__(data)
        self.by_key = {str(life.defect.pk): life.defect for life in lives}
        field: Any = self.fields["defects"]
        field.choices = [(key, defect_words(defect)) for key, defect in self.by_key.items()]
        field.error_messages["invalid_choice"] = "One of these defects is not open for this any more."
        moments_at(self, visit.structure.site.time_zone, list(self.fields))

    def chosen(self) -> list[Defect]:
        return [self.by_key[key] for key in self.cleaned_data["defects"]]


class TellAtVisitForm(_AtVisit):
    prefix = "told"
    to_whom = TellForm.base_fields["to_whom"]
    how = TellForm.base_fields["how"]
    told_at = LocalMoment(label="When", error_messages=WHEN)
    words = _words("What was said, and what was answered")


class SeenAgainAtVisitForm(_AtVisit):
    prefix = "seen-again"
    seen_at = LocalMoment(label="When", error_messages=WHEN)
    words = _words("What is to be said of them now")


class RetestAtVisitForm(RetestForm):
    """A repaired defect, re-tested at this visit: by one of its readings, or by the visit itself."""

    defect = forms.ChoiceField(
        label="Which defect", widget=forms.RadioSelect, error_messages=_else("Choose the defect.")
    )
    field_order = ("defect", "named", "words")

    def __init__(
        self, data: Any = None, *, lives: Sequence[Life], readings: Iterable[Reading], visits: Iterable[Visit]
    ) -> None:
        super().__init__(data, readings=readings, visits=visits)
        self.by_key = {str(life.defect.pk): life.defect for life in lives}
        field: Any = self.fields["defect"]
        field.choices = [(key, defect_words(defect)) for key, defect in self.by_key.items()]
        field.error_messages["invalid_choice"] = "That defect does not await a re-test any more."

    def chosen(self) -> Defect:
        return self.by_key[self.cleaned_data["defect"]]


def defect_words(defect: Defect) -> str:
    at = f" (point {defect.point.number})" if defect.point else ""
    return f"{defect.place}{at}: {defect.words}"


def reading_words(row: Reading) -> str:
    """row: with its point, verdict and visit"""
    shown = f"{figures.true_minus(row.text)}{figures.NBSP}{row.unit}"
    return f"point {row.point.number}, {shown}, {row.verdict.outcome}, at visit {row.visit.number}"


def visit_words(row: Visit) -> str:
    day = shown_day(row.on_site_from.date()) if row.on_site_from else shown_day(row.planned_on)
    return f"visit {row.number} itself, {row.get_kind_display()}, {day}, without a reading"
