"""Searching the register, and the parts whose section asks a question."""

from functools import partial

from django import forms
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import part_lists, register_search
from inspections.tables.parts import AskingTable
from inspections.tables.search import FoundTable
from inspections.views.register.editing import of_site
from sites.exports.answer import as_file
from sites.forms.filters import FilterForm
from sites.models import Site, Structure
from sites.tables.paged import FetchedInPages, paginate
from sites.views.signed_in import signed_in

ROWS_A_PAGE = 50
LONGEST_KEY = 18


class SearchForm(FilterForm):
    text = forms.CharField(
        label="Name, place or point number", max_length=100, required=False,
        widget=forms.TextInput(attrs={"type": "search"}),
    )  # fmt: skip


@require_safe
def register_find(request: HttpRequest) -> HttpResponseBase:
    """Clients, sites, structures and points under some words; a point also under a number it once carried."""
    at = timezone.now()
    form = SearchForm(request.GET or None)
    text = form.cleaned_data["text"] if form.is_valid() else ""
    table = None
    if text:
        found = partial(register_search.page_of_found, text, signed_in(request), at.date())
        table = FoundTable(FetchedInPages(found))
        if file := as_file(request, table, f"found under {text}", at=at, narrowed_by=form):
            return file
        paginate(table, request, per_page=ROWS_A_PAGE)
        table.empty_head = "Nothing in the register has these words"
        table.empty_text = "Part of a name or a place is enough; a point’s number is looked for as a whole."
    context = {"form": form, "table": table, "text": text}
    return render(request, "inspections/register/find.html", context)


@require_safe
def section_questions(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Parts at a site whose section asks a question; at one structure, where the address names it."""
    at = timezone.now()
    known = Site.objects.visible_to(signed_in(request), on=at.date()).select_related("client")
    site = get_object_or_404(known, pk=pk)
    structures = Structure.objects.filter(site=site)
    only = None
    if wanted := request.GET.get("structure", ""):
        known_here = wanted.isascii() and wanted.isdecimal() and len(wanted) <= LONGEST_KEY
        only = get_object_or_404(structures, pk=int(wanted) if known_here else 0)
    ids = part_lists.asking(structures.filter(pk=only.pk) if only else structures)
    table = AskingTable(FetchedInPages(partial(part_lists.page_of_asking, ids)))
    if file := as_file(request, table, f"questions of sections at {only or site}", at=at, also=["structure"]):
        return file
    paginate(table, request, per_page=ROWS_A_PAGE)
    table.empty_head = "No part’s section asks anything"
    table.empty_text = "Parts without a material or a section cannot be held against the table."
    trail = of_site(site)
    if only:
        trail.append((only.name, reverse("structure", args=[only.pk])))
    context = {"site": site, "only": only, "trail": trail, "table": table, "number": len(ids)}
    return render(request, "inspections/register/section_questions.html", context)
