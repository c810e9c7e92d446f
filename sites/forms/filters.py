"""What lists can be narrowed by, and what holds for every such form."""

from typing import Any

import django_filters
from django import forms

from sites.forms.plain import PlainForm

CHOOSE = "Choose one of these."


class FilterForm(PlainForm):
    """Sent by GET. A filter that is not understood stands with its fault and narrows nothing; the others hold."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            # Django's own words repeat what was asked for, however long it is.
            field.error_messages.update(invalid_choice=CHOOSE, invalid_pk_value=CHOOSE)

    @property
    def told(self) -> dict[str, Any]:
        """Those filters that were understood."""
        return self.cleaned_data if self.is_bound and self.errors is not None else {}

    @property
    def narrowed(self) -> bool:
        """Whether any filter is set, understood or not."""
        return any(self.data.get(name) for name in self.fields)


class ListFilter(django_filters.FilterSet):
    """Narrows the rows of a list by those filters that were understood."""

    def get_form_class(self) -> type[forms.Form]:
        fields = {name: filter_.field for name, filter_ in self.filters.items()}
        return type(f"{type(self).__name__}Form", (FilterForm,), fields)

    @property
    def told(self) -> dict[str, Any]:
        found: dict[str, Any] = self.form.told
        return found

    @property
    def narrowed(self) -> bool:
        return bool(self.form.narrowed)

    def leave(self, rows: Any, _name: str, _value: Any) -> Any:
        """For a filter that is answered elsewhere."""
        return rows


def words(label: str) -> django_filters.CharFilter:
    """A filter by words, answered by the filterset's ``named``."""
    return django_filters.CharFilter(
        method="named", label=label, max_length=100, widget=forms.TextInput(attrs={"type": "search"})
    )
