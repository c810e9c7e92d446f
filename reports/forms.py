"""What is said about a report that is out."""

from django import forms

from sites.forms.plain import PlainForm


class _ReasonForm(PlainForm):
    reason = forms.CharField(
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": "Write it in words."},
    )
    label = ""

    def __init__(self, data: object = None) -> None:
        super().__init__(data)  # type: ignore[arg-type]
        self.fields["reason"].label = self.label


class ProposeForm(_ReasonForm):
    prefix, label = "propose", "What is wrong with the report"


class AmendForm(_ReasonForm):
    prefix, label = "amend", "What is wrong with the report; the amendment prints it"


class CloseForm(_ReasonForm):
    prefix, label = "close", "Why the report stands as it is"


class WithdrawForm(_ReasonForm):
    prefix, label = "withdraw", "Why nobody is to rely on it"
