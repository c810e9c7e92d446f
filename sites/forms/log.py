"""What the log can be narrowed by."""

from typing import Any
from uuid import UUID

from django import forms

from sites.forms.filters import FilterForm
from sites.reach import require_in_reach

DAY = {"type": "date"}
FORMATS = ("%Y-%m-%d", "%d %b %Y")


class LogFilter(FilterForm):
    """Days are those of UTC, in which the log is written."""

    who = forms.CharField(
        label="Who", required=False, max_length=100, widget=forms.TextInput(attrs={"type": "search"})
    )
    what = forms.CharField(
        label="What", required=False, max_length=60, widget=forms.TextInput(attrs={"type": "search"})
    )
    since = forms.DateField(
        label="From",
        required=False,
        input_formats=FORMATS,
        validators=[require_in_reach],
        widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"),
    )
    until = forms.DateField(
        label="Until",
        required=False,
        input_formats=FORMATS,
        validators=[require_in_reach],
        widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"),
    )
    subject = forms.CharField(
        label="About: kind or identity",
        required=False,
        max_length=60,
        widget=forms.TextInput(attrs={"type": "search"}),
    )

    error_messages = {"day": "This is not a day. Write year, month and day, such as 2027-03-12."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("since", "until"):
            self.fields[name].error_messages["invalid"] = self.error_messages["day"]

    @property
    def identity(self) -> UUID | None:
        """The subject asked for, where an identity was given; else ``subject`` is part of a kind's name."""
        try:
            return UUID(self.cleaned_data.get("subject") or "")
        except ValueError:
            return None

    @property
    def looks_inside(self) -> bool:
        """Whether an answer would tell what stands in an entry."""
        return any(self.cleaned_data.get(name) for name in ("who", "what", "subject"))
