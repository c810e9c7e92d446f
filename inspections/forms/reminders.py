"""How often somebody wants to be reminded."""

from typing import Any

from django import forms

from inspections.models import ReminderRhythm, Weekday
from sites.forms.plain import PlainForm


class RemindersForm(PlainForm):
    """rhythm and, for the weekly letter, its weekday; a weekday left over from another choice is dropped"""

    rhythm = forms.ChoiceField(
        label="How often",
        choices=ReminderRhythm.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose how often the letter comes."},
    )
    weekday = forms.TypedChoiceField(
        label="Day of the weekly letter",
        choices=[("", "Choose the weekday"), *Weekday.choices],
        coerce=int,
        empty_value=None,
        required=False,
        help_text="Needed for “once a week” only.",
    )

    def clean(self) -> dict[str, Any]:
        told = super().clean() or {}
        if told.get("rhythm") != ReminderRhythm.WEEKLY:
            told["weekday"] = None
        elif told.get("weekday") is None and "weekday" not in self.errors:
            self.add_error("weekday", "Choose the weekday of the weekly letter.")
        return told
