"""The list of defects: all that somebody may see, by consequence."""

from functools import partial

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import defect_list
from inspections.forms.defect_filter import DefectFilter
from inspections.models import Defect
from inspections.tables.defects import DefectTable
from sites.exports.answer import as_file
from sites.models import Client
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

PER_PAGE = 50


@require_safe
def defects(request: HttpRequest) -> HttpResponseBase:
    at = timezone.now()
    person, on = signed_in(request), at.date()
    seen = defect_list.with_state(Defect.objects.visible_to(person, on=on), at)
    wanted = DefectFilter(request.GET, seen, clients=Client.objects.visible_to(person, on=on))
    table = DefectTable(
        SortedInPages(defect_list.by_consequence(wanted.qs), partial(defect_list.page_of, at=at))
    )
    if file := as_file(request, table, "defects", at=at, narrowed_by=wanted.form):
        return file
    paginate(table, request, per_page=PER_PAGE)
    narrowed = wanted.narrowed
    table.empty_head = "No defect matches these filters" if narrowed else "No defect stands open"
    table.empty_text = (
        "Others may be there: take a filter away."
        if narrowed
        else "Defects are recorded at a visit. Those closed by a re-test or withdrawn stand under their own state."
    )
    table.empty_link = ("Show all that stand", reverse("defects")) if narrowed else None
    shown = {"table": table, "form": wanted.form, "narrowed": narrowed}
    return render(request, "inspections/defects/list.html", shown)
