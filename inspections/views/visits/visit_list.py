"""The list of visits."""

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections.filters import VisitFilter
from inspections.models import Visit, VisitPerson
from inspections.tables.visits import VisitTable, paged
from sites.exports.answer import as_file
from sites.models import Client
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

VISITS_A_PAGE = 50


@require_safe
def visits(request: HttpRequest) -> HttpResponseBase:
    at = timezone.now()
    person, on = signed_in(request), at.date()
    seen = Visit.objects.visible_to(person, on=on).select_related("structure__site__client")
    wanted = VisitFilter(request.GET, seen, clients=Client.objects.visible_to(person, on=on))
    rows = wanted.qs
    people = VisitPerson.objects.select_related("person").order_by("person__name", "pk")
    table = VisitTable(SortedInPages(rows.prefetch_related(Prefetch("inspectors", people))))
    if file := as_file(request, table, "visits", at=at, narrowed_by=wanted.form):
        return file
    context = {
        "table": paged(table, request, VISITS_A_PAGE),
        "form": wanted.form,
        "narrowed": wanted.narrowed,
    }
    return render(request, "inspections/visits.html", context)
