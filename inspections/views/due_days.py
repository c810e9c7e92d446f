"""The working of a structure's due days."""

from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import due_working, structure_record
from inspections.views.due import memberships
from sites.models import Structure
from sites.navigation import ONLY_FOR
from sites.views.signed_in import signed_in


@require_safe
def due_days(request: HttpRequest, pk: int) -> HttpResponse:
    """Every obligation of one structure, each with the steps to its due day."""
    at = timezone.now()
    person = signed_in(request)
    found = Structure.objects.visible_to(person, on=at.date()).select_related("site__client")
    place = get_object_or_404(found, pk=pk)
    zone = ZoneInfo(place.site.time_zone)
    today = at.astimezone(zone).date()
    owed = structure_record.obligations(place, today)
    shown = {
        "structure": place,
        "workings": due_working.workings(place, owed, at),
        "today": today,
        "looks_back": any(role in ONLY_FOR["past-day"] for _, role in memberships(person, at.date())),
    }
    with timezone.override(zone):
        return render(request, "inspections/due_days.html", shown)
