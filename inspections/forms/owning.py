"""What those who answer for a structure say of it, as forms. A day is never chosen for them."""

from typing import Any

from django import forms

from inspections.forms.times import LocalDay
from inspections.models import Author, EventKind, SourceStatus
from sites.forms.plain import PlainForm

STRIKES = (
    ("", "it was no strike, or not known"),
    ("known strike", "a known strike: seen, or damage found"),
    ("suspected strike", "a suspected strike"),
    ("the counter advanced", "the strike counter advanced"),
)


def _else(sentence: str) -> dict[str, str]:
    return {"required": sentence, "invalid_choice": "Choose one of these."}


def _words(label: str, longest: int, sentence: str = "", help_text: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=longest,
        required=bool(sentence),
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=help_text,
        error_messages=_else(sentence),
    )


class EventForm(PlainForm):
    """Something changed."""

    kind = forms.ChoiceField(
        label="What happened",
        choices=EventKind,
        widget=forms.RadioSelect,
        error_messages=_else("Choose what happened."),
    )
    strike = forms.ChoiceField(label="If it was a strike", choices=STRIKES, required=False)
    on = LocalDay(
        label="The day it happened",
        error_messages=_else("Give the day. Where it is not known, the first day on which it may have been."),
        help_text="However long ago: the days to the inspection are counted from it.",
    )
    words = _words("In words", 340, "Say what happened.", "What, where, and what can be seen of it.")
    reported_by = forms.CharField(
        label="Who reports it", max_length=200, error_messages=_else("Say who reports it.")
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        how = cleaned.get("strike")
        if how and cleaned.get("kind") not in (None, EventKind.STRIKE):
            self.add_error(
                "strike", "That belongs to a lightning strike. Choose the strike above, or take this away."
            )
        return cleaned

    def told(self) -> dict[str, Any]:
        """What the act takes: how a strike is known stands before the words."""
        found = dict(self.cleaned_data)
        how = found.pop("strike")
        found["words"] = f"{how}: {found['words']}" if how else found["words"]
        return found


class SuspensionForm(PlainForm):
    """Out of use."""

    since = LocalDay(label="Out of use since", error_messages=_else("Give the first day."))
    until = LocalDay(
        label="Last day out of use", required=False, help_text="Leave it empty while nobody knows."
    )
    authority = forms.CharField(
        label="On whose authority",
        max_length=300,
        help_text="Who says so, and in which letter or order.",
        error_messages=_else("Say on whose authority it is out of use."),
    )
    return_inspection = forms.BooleanField(
        label="It is to be inspected before it returns to use", required=False, initial=True
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        since, until = cleaned.get("since"), cleaned.get("until")
        if since and until and until < since:
            self.add_error("until", "That day lies before the first. Check the two.")
        return cleaned


class ReturnForm(PlainForm):
    """Back in use."""

    last_day = LocalDay(
        label="Last day out of use",
        error_messages=_else("Give the last day."),
        help_text="Where an inspection before use is asked for, it is due on the day after.",
    )
    authority = forms.CharField(
        label="On whose authority", max_length=300, error_messages=_else("Say on whose authority it returns.")
    )


class WishForm(PlainForm):
    """Please come then."""

    from_day = LocalDay(label="From", error_messages=_else("Give the first day."))
    until_day = LocalDay(label="Until", error_messages=_else("Give the last day."))
    words = _words(
        "Words for the planner", 400, help_text="Such as: theatres closed; keys at the gate; not on Fridays."
    )


class AllowanceForm(PlainForm):
    """A number of days after one kind of event."""

    kind = forms.ChoiceField(
        label="After what",
        choices=[("", "Choose"), *EventKind.choices],
        error_messages=_else("Choose the event."),
    )
    within_days = forms.IntegerField(
        label="Days to the inspection",
        min_value=0,
        max_value=366,
        help_text="0 means on the day itself.",
        error_messages={
            "required": "Give the number of days.", "invalid": "Write a whole number of days.",
            "min_value": "Write 0 or more days.", "max_value": "Write 366 days or fewer.",
        },
    )  # fmt: skip
    author = forms.ChoiceField(
        label="Who demands it", choices=[("", "Choose"), *Author.choices], error_messages=_else("Choose who.")
    )
    author_name = forms.CharField(label="Name", max_length=40, error_messages=_else("Name who demands it."))
    source = forms.CharField(label="Source", max_length=300, error_messages=_else("Name the document."))
    edition = forms.CharField(label="Edition", max_length=60, error_messages=_else("Name the edition."))
    status = forms.ChoiceField(
        label="How sure it is",
        choices=[("", "Choose"), *SourceStatus.choices],
        error_messages=_else("Say how sure it is."),
    )
    adopted_from = LocalDay(label="Adopted from", error_messages=_else("Give the first day."))
