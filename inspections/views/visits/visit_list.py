"""The list of visits, by state."""

from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections.models import Visit, VisitPerson, VisitState
from inspections.tables.visits import VisitTable, paged
from sites.exports.answer import as_file
from sites.views.signed_in import signed_in

VISITS_A_PAGE = 50


@require_safe
def visits(request: HttpRequest) -> HttpResponseBase:
    at = timezone.now()
    rows = Visit.objects.visible_to(signed_in(request), on=at.date()).select_related(
        "structure__site__client"
    )
    state = request.GET.get("state", "")
    if state in VisitState.values:
        rows = rows.filter(state=state)
    people = VisitPerson.objects.select_related("person").order_by("person__name", "pk")
    table = VisitTable(rows.prefetch_related(Prefetch("inspectors", people)))
    if file := as_file(request, table, "visits", at=at):
        return file
    context = {
        "table": paged(table, request, VISITS_A_PAGE),
        "states": VisitState.choices,
        "chosen": state if state in VisitState.values else "",
    }
    return render(request, "inspections/visits.html", context)
