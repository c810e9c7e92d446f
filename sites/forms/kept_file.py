"""A file in a form that is kept as it was handed in."""

from typing import Any

from django import forms

from sites.forms.plain import PlainForm
from sites.uploads import Taken, UploadRefused, taken

ACCEPT = ".pdf,.jpg,.jpeg,.png,.csv,.xlsx"


class KeptFileField(forms.FileField):
    """What may be handed in, said before and after; by its bytes it is looked at only in ``keep``."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs["error_messages"] = {
            "required": "Choose the file first.",
            "missing": "Choose the file first.",
            "empty": "The file is empty. Choose the right one.",
        }
        kwargs.setdefault("help_text", "PDF, JPEG, PNG, CSV or XLSX, at most 32 MB.")
        widget = forms.FileInput(attrs={"accept": ACCEPT})
        super().__init__(widget=widget, max_length=None, **kwargs)


class KeepsFile(PlainForm):
    """A form with a field ``file``."""

    def keep(self) -> Taken | None:
        """The file in the store; None where none was chosen, and where it is not taken, with the fault in the form."""
        upload = self.cleaned_data.get("file")
        if not upload:
            return None
        try:
            return taken(upload, upload.name)
        except UploadRefused as refused:
            self.add_error("file", str(refused))
            return None
