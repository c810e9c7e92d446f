"""Every entry of a visit, for whoever checks how it came to be."""

from functools import partial
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import visit_entries
from inspections.tables.visit_entries import EntriesTable
from inspections.views.visits.visit import found
from sites.exports.answer import as_file
from sites.tables.paged import FetchedInPages, paginate

ENTRIES_A_PAGE = 100


@require_safe
def entries(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Corrections beside what they replaced, and what was withdrawn with its import."""
    at = timezone.now()
    visit = found(request, pk, at)
    zone = ZoneInfo(visit.structure.site.time_zone)
    with timezone.override(zone):
        table = EntriesTable(FetchedInPages(partial(visit_entries.page_of_entries, visit, zone)))
        if file := as_file(request, table, f"entries of visit {visit.number}", at=at):
            return file
        paginate(table, request, per_page=ENTRIES_A_PAGE)
        context = {
            "table": table, "visit": visit, "structure": visit.structure, "site": visit.structure.site
        }  # fmt: skip
        return render(request, "inspections/visit_entries.html", context)
