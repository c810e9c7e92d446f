"""The portfolio of whoever answers for buildings."""

from functools import partial
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import due_list, portfolio, portfolio_next
from inspections.filters import BuildingFilter
from inspections.tables.buildings import BuildingsTable
from inspections.views.due import bounded, memberships
from sites import access
from sites.access import require
from sites.exports.answer import as_file
from sites.models import Client
from sites.navigation import ONLY_FOR
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

BUILDINGS_A_PAGE = 50


@require_safe
def buildings(request: HttpRequest) -> HttpResponseBase:
    """A row per structure the person may see, those that need something first."""
    at = timezone.now()
    on = at.date()
    person = signed_in(request)
    held = memberships(person, on)
    require(any(role in ONLY_FOR["buildings"] for _, role in held))
    structures = portfolio.seen_by(person, held, on=on)
    owed = due_list.with_today(due_list.owed_to(person, held, on=on), at)
    wanted = BuildingFilter(request.GET, structures, clients=Client.objects.visible_to(person, on=on))
    shown = portfolio.Portfolio(wanted.qs, at)
    parts = shown.sections(wanted.state_chosen)
    whole = parts[0] if len(parts) == 1 else shown.structures
    pages = SortedInPages(
        parts, partial(portfolio.page_of_buildings, at=at), to_sort=lambda: portfolio.to_sort(whole, at)
    )
    roles = frozenset(role for _, role in held)
    table = BuildingsTable(pages)
    if file := as_file(request, table, "buildings", at=at, narrowed_by=wanted.form):
        return file
    paginate(table, request, per_page=BUILDINGS_A_PAGE)
    shown_at = {row.record.structure.site_id for row in table.paginated_rows}
    table.reported_at = access.sites_where(person, [access.REPORT_EVENTS], shown_at, on=on)
    narrowed = wanted.narrowed
    table.empty_head, table.empty_text, table.empty_link = _empty(narrowed)
    first_page = table.page.number == 1 and not narrowed and not table.sorted_by
    context = {
        "form": wanted.form,
        "table": table,
        "narrowed": narrowed,
        "number": bounded(due_list.counted(wanted.qs)),
        "overdue": due_list.counted(shown.all_overdue()),
        "urgent": due_list.counted(shown.with_urgent_defects()),
        "back_query": urlencode(
            {name: request.GET[name] for name in ("client", "text") if request.GET.get(name)}
        ),
        "kept": _kept(request),
        "looks_back": bool(roles & set(ONLY_FOR["past-day"])),
        "steps": portfolio_next.steps(structures, owed, at, person=person) if first_page else [],
    }
    return render(request, "inspections/buildings.html", context)


def _kept(request: HttpRequest) -> str:
    """What the list is narrowed by besides its state, as the beginning of a query."""
    kept = {name: request.GET[name] for name in ("client", "text") if request.GET.get(name)}
    return f"?{urlencode(kept)}&" if kept else "?"


def _empty(narrowed: bool) -> tuple[str, str, tuple[str, str] | None]:
    if narrowed:
        return (
            "No building matches these filters",
            "Part of a building’s or a site’s name is enough; other buildings may be there.",
            ("Show all buildings", reverse("buildings")),
        )
    return (
        "No building is open to you",
        "Which buildings somebody sees follows from their role and its first and last day. "
        "Ask the inspecting firm’s quality manager if one is missing.",
        None,
    )
