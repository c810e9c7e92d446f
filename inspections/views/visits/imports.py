"""A day's readings as a file: taken over whole or refused with every fault; and undone by a withdrawal."""

import csv
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inspections import coverage
from inspections.forms.visits import ReadingsFileForm, WithdrawForm
from inspections.imports.readings import COLUMNS, Readings, WithdrawnReadings
from inspections.models import Reason, Visit, VisitState
from inspections.rules.judging.facts import METHODS, TEMPERATURE_SOURCES
from inspections.views.visits.visit import REFUSED, VisitPage, found, show
from inspections.visit_rights import acts_at
from sites import access, imports
from sites.access import require
from sites.imports.cells import listed
from sites.models import ImportedFile, ImportKind
from sites.uploads import at_most
from sites.views.signed_in import signed_in

FAULTS_SHOWN = 500
# What to write in columns that take one of a few words.
WORDS = {
    "method": listed(METHODS) + ".",
    "temperature_source": listed(TEMPERATURE_SOURCES) + ".",
    "no_reading": "Why the point was not read: " + listed(Reason.values) + ".",
    "joint_state": "Such as open, or closed.",
}
FORMULA = ("=", "+", "-", "@")


@at_most("IMPORT_MAX_BYTES", table=True)
@require_http_methods(["GET", "HEAD", "POST"])
def readings_file(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visit = found(request, pk, at)
    require(access.ENTER in acts_at(signed_in(request), visit, on=at.date()))
    if request.method != "POST":
        return _page(request, visit, ReadingsFileForm())
    form = ReadingsFileForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, visit, form)
    upload = form.cleaned_data["file"]
    try:
        file = imports.run(
            Readings(visit),
            firm=visit.firm,
            name=upload.name,
            content=imports.taken(upload),
            by=signed_in(request),
            at=at,
        )
    except imports.ImportRefused as refused:
        visit.refresh_from_db()
        return _page(request, visit, form, refused, upload.name)
    messages.success(
        request, f"{file.rows} row{'' if file.rows == 1 else 's'} of “{file.name}” taken over and judged."
    )
    return redirect("visit", pk=visit.pk)


def _page(
    request: HttpRequest,
    visit: Visit,
    form: ReadingsFileForm,
    refused: imports.ImportRefused | None = None,
    name: str = "",
) -> HttpResponse:
    context = {
        "visit": visit,
        "structure": visit.structure,
        "site": visit.structure.site,
        "form": form,
        "refused": refused,
        "faults": refused.faults[:FAULTS_SHOWN] if refused else (),
        "more": refused.total - min(FAULTS_SHOWN, len(refused.faults)) if refused else 0,
        "name": name,
        "columns": [(row.name, row.needed, WORDS.get(row.name) or row.meaning) for row in COLUMNS],
        "limit": settings.IMPORT_MAX_BYTES,
        "open": visit.state == VisitState.ON_SITE,
    }
    status = REFUSED if refused or form.is_bound else 200
    return render(request, "inspections/import_readings.html", context, status=status)


@require_safe
def readings_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The columns with a row for each point that is still open at this visit, to be filled in."""
    at = timezone.now()
    visit = found(request, pk, at)
    require(access.ENTER in acts_at(signed_in(request), visit, on=at.date()))
    day = VisitPage(request, visit, at).day
    numbers = coverage.points_without_outcome(visit, day).values_list("number", flat=True)
    answer = HttpResponse(
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="visit-{visit.number}-readings.csv"'},
    )
    answer.write("\ufeff")  # so that spreadsheet programs read Ω and µ as they are
    rows = csv.writer(answer)
    names = [column.name for column in COLUMNS]
    rows.writerow(names)
    for number in numbers:
        rows.writerow([_harmless(number), *[""] * (len(names) - 1)])
    return answer


def _harmless(text: str) -> str:
    """A cell that no spreadsheet program runs as a formula."""
    return f"'{text}" if text.startswith(FORMULA) else text


@require_POST
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    visits = Visit.objects.visible_to(signed_in(request), on=at.date())
    file = get_object_or_404(ImportedFile.objects.select_related("firm"), pk=pk, kind=ImportKind.READINGS)
    visit = visits.filter(readings__file=file).first() or visits.filter(no_readings__file=file).first()
    if visit is None:
        raise Http404
    visit = found(request, visit.pk, at)
    require(access.ENTER in acts_at(signed_in(request), visit, on=at.date()))
    form: Any = WithdrawForm(request.POST, prefix=f"withdraw-{file.pk}")
    if not form.is_valid():
        return show(request, visit, at, form=form)
    try:
        imports.withdraw(
            WithdrawnReadings(file), file, reason=form.cleaned_data["reason"], by=signed_in(request), at=at
        )
    except imports.ImportRefused as refused:
        return show(request, visit, at, form=form, refusal=tuple(str(fault) for fault in refused.faults))
    messages.success(request, f"“{file.name}” is withdrawn. Its rows stay on record and count no more.")
    return redirect("visit", pk=visit.pk)
