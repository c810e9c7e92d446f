"""What every form of the product is made of: it takes no letters that nobody can see."""

from collections.abc import Iterator
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from sites.unseen import unseen_in


class PlainForm(forms.Form):
    """Refuses such letters in each field and in the names of files, before anything is made of what was said.

    Line breaks and tabs stay in text areas. A password is whatever its owner wants it to be.
    """

    def _clean_fields(self) -> None:
        super()._clean_fields()  # type: ignore[misc]
        for name, fault in self._unseen():
            self.errors.pop(name, None)  # its own sentence could not show what is wrong either
            self.add_error(name, fault)

    def _unseen(self) -> Iterator[tuple[str, str]]:
        for bound in self:
            widget = bound.field.widget
            if isinstance(widget, forms.PasswordInput):
                continue
            lines = isinstance(widget, forms.Textarea)
            faults = (_fault(said, lines) for said in _said(bound.data))
            if fault := next(filter(None, faults), ""):
                yield bound.name, fault


def _said(data: Any) -> list[Any]:
    return data if isinstance(data, list) else [data]


def _fault(said: Any, lines: bool) -> str:
    """Space around the words goes in every field, so it does no harm."""
    if isinstance(said, UploadedFile):
        return unseen_in(said.name or "", "The file’s name")
    return unseen_in(said.strip(), "The field", lines=lines) if isinstance(said, str) else ""
