"""A part: its page, adding one to a system, saying that it changed."""

from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inspections import part_lists, part_sections, part_words, register_history
from inspections.actions import register as derived
from inspections.forms.register import PartForm
from inspections.tables.parts import PartPointsTable
from inspections.views.register.clients import EDIT
from inspections.views.register.editing import (
    Page,
    Trail,
    answer,
    data_of,
    may_change,
    of_structure,
    require_change,
)
from sites import document_shelf
from sites.actions import register
from sites.exports.answer import as_file
from sites.models import Part, PartKind, Structure, System
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

POINTS_A_PAGE = 50
WITH_PLACE = "structure__site__client__firm"


def of_parts(structure: Structure) -> Trail:
    return [*of_structure(structure), ("Systems and parts", reverse("structure-parts", args=[structure.pk]))]


@require_safe
def part(request: HttpRequest, pk: int) -> HttpResponseBase:
    """One part: what is known of it, what its section asks, its points, how it changed."""
    at = timezone.now()
    found = get_object_or_404(
        Part.objects.visible_to(signed_in(request), on=at.date()).select_related("system", WITH_PLACE), pk=pk
    )
    zone = ZoneInfo(found.structure.site.time_zone)
    today = at.astimezone(zone).date()
    table = PartPointsTable(SortedInPages(part_lists.points_of(found)), today=today)
    if file := as_file(request, table, f"points of {found.name}", at=at):
        return file
    paginate(table, request, per_page=POINTS_A_PAGE)
    table.empty_head = "No test point is recorded on this part"
    table.empty_text = "A visit can read only points that are there."
    context = {
        "part": found,
        "trail": of_parts(found.structure),
        "facts": part_words.part_facts(found),
        "questions": part_sections.questions(found),
        "table": table,
        "past": register_history.history(found),
        "shelf": document_shelf.of_part(found, signed_in(request), on=at.date()),
        "first": found.details.order_by("since", "recorded_at", "pk").first(),
        "may_change": may_change(request, found.structure.site.client.firm_id, at.date()),
    }
    with timezone.override(zone):
        return render(request, "inspections/register/part.html", context)


@require_http_methods(EDIT)
def part_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Which kind of part is asked first, since each kind has facts of its own."""
    at = timezone.now()
    system = get_object_or_404(
        System.objects.visible_to(signed_in(request), on=at.date()).select_related(WITH_PLACE), pk=pk
    )
    structure = system.structure
    require_change(request, structure.site.client.firm_id, at.date())
    kind = request.GET.get("kind", "")
    if kind not in PartKind.values:
        context = {"system": system, "trail": of_parts(structure), "kinds": PartKind.choices}
        return render(request, "inspections/register/part_kind.html", context)
    page = Page(
        f"Add a part of {system.name}: {PartKind(kind).label}", "Add the part", of_parts(structure),
        reverse("structure-parts", args=[structure.pk]),
    )  # fmt: skip
    return answer(
        request, PartForm(data_of(request), kind=kind), page,
        lambda said: derived.create_part(system, kind=kind, **said, by=signed_in(request), at=at),
        done=lambda row: (
            f"{row.name} is on record. Its test points come next.",
            reverse("part", args=[row.pk]),
        ),
        zone=ZoneInfo(structure.site.time_zone),
    )  # fmt: skip


@require_http_methods(EDIT)
def part_change(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    found = get_object_or_404(
        Part.objects.visible_to(signed_in(request), on=at.date()).select_related(WITH_PLACE), pk=pk
    )
    require_change(request, found.structure.site.client.firm_id, at.date())
    back = reverse("part", args=[pk])
    page = Page(
        f"Change {found.name}", "Record the change", of_parts(found.structure), back,
        "Verdicts that were given keep what was said of the part then.",
    )  # fmt: skip
    return answer(
        request, PartForm(data_of(request), kind=found.kind, now=found), page,
        lambda said: register.describe_part(found, **said, by=signed_in(request), at=at),
        done=lambda row: (f"The change of {row.name} is on record.", back),
        zone=ZoneInfo(found.structure.site.time_zone),
    )  # fmt: skip
