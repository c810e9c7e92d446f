"""Documents, as forms: what they are, what is said of a revision, and what the list can be narrowed by."""

from datetime import date
from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from sites.actions.documents import About
from sites.forms.filters import ListFilter, words
from sites.forms.kept_file import KeepsFile, KeptFileField
from sites.forms.plain import PlainForm
from sites.models import Client, DocumentKind, Part, Person, Revision, Site, Structure, TestPoint
from sites.reach import require_in_reach

DAYS = ("%Y-%m-%d", "%d %b %Y")
STANDS, WITHDRAWN = "stands", "withdrawn"
MODELS: dict[str, Any] = {
    "client": Client, "site": Site, "structure": Structure, "part": Part, "point": TestPoint,
}  # fmt: skip


def _else(sentence: str) -> dict[str, str]:
    return {"required": sentence, "invalid_choice": "Choose one of these."}


class RevisionForm(KeepsFile):
    """A file and what is said of it."""

    file = KeptFileField(
        help_text="PDF, JPEG, PNG, CSV or XLSX, at most 32 MB. It is kept as it is; a picture may tell place and time."
    )
    mark = forms.CharField(
        label="Revision, as its author calls it",
        max_length=30,
        required=False,
        help_text="Such as B, or 2.1.",
    )
    dated = forms.DateField(
        label="Date on it",
        required=False,
        input_formats=DAYS,
        validators=[require_in_reach],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "Give a day that exists, such as 12 Mar 2027."},
    )
    author = forms.CharField(label="Who made it", max_length=200, required=False)
    words = forms.CharField(
        label="What is to be known of it",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def about(self) -> About:
        said = self.cleaned_data
        return About(said["mark"], said["dated"], said["author"], said["words"])


class AddForm(RevisionForm):
    title = forms.CharField(max_length=200, error_messages=_else("Say what the document is called."))
    kind = forms.ChoiceField(
        choices=[("", "Choose a kind"), *DocumentKind.choices],
        error_messages=_else("Choose the kind of document."),
    )
    structure = forms.ModelChoiceField(
        Structure.objects.none(),
        required=False,
        empty_label="the whole site",
        label="Concerns",
        error_messages=_else("Choose it from the list."),
    )
    field_order = ("title", "kind", "structure", "file")

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["structure"]
        field.queryset = Structure.objects.filter(site=site).order_by("name", "pk")
        field.label_from_instance = lambda row: row.name


class WithdrawForm(PlainForm):
    reason = forms.CharField(
        label="Why it is not to be used any more",
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages=_else("Write it in words."),
    )


class DocumentFilter(ListFilter):
    """Narrows newest revisions. By what the person sees; site and structure come from their pages"""

    kind = django_filters.ChoiceFilter(
        choices=DocumentKind.choices, field_name="document__kind", label="Kind", empty_label="All kinds"
    )
    client = django_filters.ModelChoiceFilter(
        queryset=Client.objects.none(),
        field_name="document__site__client",
        label="Client",
        empty_label="All clients",
    )
    state = django_filters.ChoiceFilter(
        choices=((STANDS, "stands"), (WITHDRAWN, "withdrawn")),
        label="State",
        empty_label="All",
        method="in_state",
    )
    text = words("Title, site or structure")
    site = django_filters.ModelChoiceFilter(
        queryset=Site.objects.none(), field_name="document__site", widget=forms.HiddenInput
    )
    structure = django_filters.ModelChoiceFilter(
        queryset=Structure.objects.none(), field_name="document__structure", widget=forms.HiddenInput
    )
    part = django_filters.ModelChoiceFilter(
        queryset=Part.objects.none(), field_name="document__part", widget=forms.HiddenInput
    )
    point = django_filters.ModelChoiceFilter(
        queryset=TestPoint.objects.none(), field_name="document__point", widget=forms.HiddenInput
    )

    class Meta:
        model = Revision
        fields: list[str] = []

    def __init__(self, data: Any, queryset: QuerySet[Any], *, person: Person, on: date) -> None:
        super().__init__(data, queryset)
        for name, model in MODELS.items():
            self.form.fields[name].queryset = model.objects.visible_to(person, on=on)

    def in_state(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        return rows.filter(withdrawn=value == WITHDRAWN)

    def named(self, rows: QuerySet[Any], _name: str, value: str) -> QuerySet[Any]:
        names = ("document__title", "document__site__name", "document__structure__name", "author", "mark")
        asked = Q()
        for name in names:
            asked |= Q(**{f"{name}__icontains": value})
        return rows.filter(asked)
