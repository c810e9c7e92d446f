"""Planning a visit: its kind, its day, and only people authorised for it."""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inspections.actions import visits
from inspections.actions.booking import NotBookable
from inspections.forms.times import shown_day
from inspections.forms.visits import PlanForm
from inspections.models import DueDate
from inspections.owning import wishes_of
from inspections.views.visits.visit import REFUSED
from sites import access
from sites.access import may, require
from sites.models import Authorisation, Membership, Person, Role, Structure
from sites.views.signed_in import signed_in


@require_http_methods(["GET", "HEAD", "POST"])
def plan_visit(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    structure = get_object_or_404(
        Structure.objects.visible_to(signed_in(request), on=at.date()).select_related("site__client__firm"),
        pk=pk,
    )
    require(may(signed_in(request), access.PLAN, structure.site.client.firm, on=at.date()))
    inspectors = inspectors_of(structure, at)
    today = at.astimezone(ZoneInfo(structure.site.time_zone)).date()
    sent = request.POST if request.method == "POST" else None
    form = PlanForm(sent, structure=structure, inspectors=inspectors, today=today)
    if request.method == "POST" and form.is_valid():
        try:
            visit = visits.plan(structure, **form.cleaned_data, by=signed_in(request), at=at)
        except NotBookable as refused:
            form.refused(refused)
        else:
            messages.success(request, f"Visit {visit.number} is planned for {shown_day(visit.planned_on)}.")
            return redirect("visit", pk=visit.pk)
    return render(
        request,
        "inspections/plan_visit.html",
        _context(structure, form, inspectors, today),
        status=_status(form),
    )


def _status(form: PlanForm) -> int:
    return REFUSED if form.is_bound else 200


def _context(structure: Structure, form: PlanForm, inspectors: list[Any], today: date) -> dict[str, Any]:
    return {
        "structure": structure,
        "site": structure.site,
        "form": form,
        "inspectors": inspectors,
        "owed": DueDate.objects.filter(structure=structure, governs=True).first(),
        "today": today,
        "wishes": wishes_of(structure, today),
    }


def inspectors_of(structure: Structure, at: datetime) -> list[tuple[Person, str]]:
    """The firm's inspectors who are authorised for at least one kind of visit to all of the structure's systems.

    Returns: each person with words saying for which kinds of visit and until when
    """
    firm, today = structure.site.client.firm_id, at.date()
    members = Membership.objects.on(today).filter(firm=firm, role=Role.INSPECTOR).values("person")
    people = Person.objects.filter(pk__in=members, is_active=True).order_by("name", "pk")
    systems = set(structure.systems.values_list("kind", flat=True))
    held: dict[int, dict[str, dict[str, date | None]]] = {}
    for row in Authorisation.objects.on(today).filter(firm=firm, person__in=people):
        held.setdefault(row.person_id, {}).setdefault(row.get_visit_kind_display(), {})[row.system_kind] = (
            row.until
        )
    found = []
    for person in people:
        kinds = {kind: rows for kind, rows in held.get(person.pk, {}).items() if systems <= set(rows)}
        if kinds or not systems:
            found.append((person, _words(person, kinds)))
    return found


def _words(person: Person, kinds: dict[str, dict[str, date | None]]) -> str:
    said = []
    for kind, rows in sorted(kinds.items()):
        ends = [until for until in rows.values() if until is not None]
        said.append(f"{kind} until {shown_day(min(ends))}" if ends else kind)
    return f"{person.name}; authorised for: {', '.join(said)}" if said else person.name
