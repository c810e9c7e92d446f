"""Moving a point's baseline."""

from django import forms

from inspections.forms.case_fields import required
from sites.forms.plain import PlainForm


class RebaseForm(PlainForm):
    prefix = "rebase"
    reason = forms.CharField(
        label="Why later readings are compared with this one",
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="A repair, another way of measuring, other conditions. The old baseline stays in sight.",
        error_messages=required("Say why the baseline moves."),
    )
