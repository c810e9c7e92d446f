"""Instruments, as forms. What a row of the instruments' file asks is asked by the file's own checks."""

from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from inspections import instrument_list
from inspections.actions.instruments import Certificate
from inspections.forms.times import LocalDay
from inspections.models import Calibration, Instrument, Tolerance
from sites.forms.filters import ListFilter, words
from sites.forms.kept_file import KeepsFile, KeptFileField
from sites.forms.plain import PlainForm
from sites.imports import ImportRefused


def _else(sentence: str) -> dict[str, str]:
    return {"required": sentence, "invalid_choice": "Choose one of these."}


def _typed(label: str, longest: int, help_text: str = "", *, required: bool = True) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=longest,
        required=required,
        help_text=help_text,
        error_messages=_else("Fill this in."),
    )


class TypedForm(PlainForm):
    """Cells of one row of a file. ``refuse`` puts each of the file's faults beside its field."""

    def cells(self) -> dict[str, str]:
        return {name: str(value) for name, value in self.cleaned_data.items()}

    def refuse(self, refused: ImportRefused) -> None:
        for fault in refused.faults:
            self.add_error(fault.column if fault.column in self.fields else None, fault.sentence)


class RangeForm(TypedForm):
    range = _typed("Range, by its top", 24, "Such as 25 mΩ.")
    step = _typed("Worth of the last digit", 24, "Such as 0.01 mΩ.")
    percent_of_reading = _typed("Accuracy, percent of reading", 12, "Such as 0.25.")
    digits = _typed("Accuracy, digits", 12, "Such as 2.")


class AddForm(RangeForm):
    serial = _typed("Serial number", 60)
    description = _typed("What it is", 200, "Such as low-resistance ohmmeter.")
    field_order = ("serial", "description")


class CalibrationForm(KeepsFile):
    """What a certificate states, and the certificate itself."""

    certificate = _typed("Certificate number", 60)
    calibrated_on = LocalDay(label="Calibrated on", error_messages=_else("Give the day on the certificate."))
    valid_until = LocalDay(
        label="Valid until",
        error_messages=_else("Give the last day on which it holds."),
        help_text="The last day on which the calibration holds.",
    )
    laboratory = _typed(
        "Who calibrated", 300, "With their accreditation as the certificate words it.", required=False
    )
    as_found = forms.ChoiceField(label="As found", choices=Tolerance, widget=forms.RadioSelect)
    as_left = forms.ChoiceField(label="As left", choices=Tolerance, widget=forms.RadioSelect)
    words = forms.CharField(
        label="What is to be known of it",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    file = KeptFileField(label="The certificate itself", required=False)

    def __init__(self, data: Any = None, files: Any = None, *, like: Calibration | None = None) -> None:
        found = {"as_found": Tolerance.NOT_STATED, "as_left": Tolerance.NOT_STATED}
        if like is not None:
            found = {name: getattr(like, name) for name in Certificate.__slots__}
        super().__init__(data, files, initial=found)

    def stated(self) -> Certificate:
        return Certificate(**{name: self.cleaned_data[name] for name in Certificate.__slots__})


def _reason(label: str) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages=_else("Write it in words."),
    )


class CorrectForm(CalibrationForm):
    file = KeptFileField(
        label="Another file of the certificate",
        required=False,
        help_text="Left out, the file that is kept already goes on standing behind it.",
    )
    reason = _reason("Why it is corrected")


class WithdrawForm(PlainForm):
    reason = _reason("Why it is withdrawn")


class RetireForm(PlainForm):
    on = LocalDay(label="From which day on", error_messages=_else("Give the day."))
    reason = _reason("Why it is retired")


class AsOfForm(PlainForm):
    day = LocalDay(label="As on", required=False)


class InstrumentFilter(ListFilter):
    """Narrows instruments ``with_state`` of ``today``; without a state, all that are not retired."""

    state = django_filters.ChoiceFilter(
        choices=[(word, word) for word in instrument_list.STATES],
        label="State",
        empty_label="All in use",
        method="leave",
    )
    text = words("Serial number, kind or certificate")

    class Meta:
        model = Instrument
        fields: list[str] = []

    def __init__(self, data: Any, queryset: QuerySet[Any], *, today: Any) -> None:
        super().__init__(data, queryset)
        self.today = today

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        rows = super().filter_queryset(queryset)
        state = self.form.cleaned_data.get("state")
        if state:
            return instrument_list.in_state(rows, state, self.today)
        return rows.filter(is_retired=False)

    def named(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        certified = Calibration.objects.filter(certificate__icontains=value).values("instrument")
        return rows.filter(Q(serial__icontains=value) | Q(description__icontains=value) | Q(pk__in=certified))
