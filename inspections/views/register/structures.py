"""Structures and their systems: adding and changing them, and the list of a structure's parts."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inspections import part_lists
from inspections.actions import register as derived
from inspections.forms.register import StructureForm, SystemChangeForm, SystemForm
from inspections.tables.parts import PartsTable
from inspections.views.register.clients import EDIT
from inspections.views.register.editing import (
    Page,
    answer,
    data_of,
    may_change,
    of_site,
    of_structure,
    require_change,
)
from sites.actions import register
from sites.exports.answer import as_file
from sites.models import Site, Structure, System
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

PARTS_A_PAGE = 100


@require_http_methods(EDIT)
def structure_new(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    site = get_object_or_404(
        Site.objects.visible_to(signed_in(request), on=at.date()).select_related("client__firm"), pk=pk
    )
    require_change(request, site.client.firm_id, at.date())
    page = Page(
        f"Add a structure at {site.name}", "Add the structure", of_site(site), reverse("site", args=[pk])
    )
    return answer(
        request, StructureForm(data_of(request)), page,
        lambda said: derived.create_structure(site, **said, by=signed_in(request), at=at),
        done=lambda row: (
            f"{row.name} is on record. Its systems and parts come next.",
            reverse("structure-parts", args=[row.pk]),
        ),
        zone=ZoneInfo(site.time_zone),
    )  # fmt: skip


@require_http_methods(EDIT)
def structure_change(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    found = _structure(request, pk, at)
    require_change(request, found.site.client.firm_id, at.date())
    back = reverse("structure", args=[pk])
    page = Page(
        f"Change {found.name}", "Record the change", of_structure(found), back,
        "What was said before stays on record with its own days.",
    )  # fmt: skip
    return answer(
        request, StructureForm(data_of(request), now=found), page,
        lambda said: derived.describe_structure(found, **said, by=signed_in(request), at=at),
        done=lambda row: (f"The change of {row.name} is on record.", back),
        zone=ZoneInfo(found.site.time_zone),
    )  # fmt: skip


@require_safe
def structure_parts(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The systems of a structure with all their parts."""
    at = timezone.now()
    found = _structure(request, pk, at)
    today = found.site.day_at(at)
    table = PartsTable(SortedInPages(part_lists.parts_of(found, today), part_lists.page_of_parts))
    if file := as_file(request, table, f"parts of {found}", at=at):
        return file
    paginate(table, request, per_page=PARTS_A_PAGE)
    table.empty_head = "No part is recorded on this structure"
    table.empty_text = "Parts belong to a system; test points belong to a part."
    context = {
        "structure": found,
        "trail": of_structure(found),
        "systems": list(found.systems.order_by("name", "pk")),
        "table": table,
        "may_change": may_change(request, found.site.client.firm_id, at.date()),
    }
    return render(request, "inspections/register/parts.html", context)


@require_http_methods(EDIT)
def system_new(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    structure = _structure(request, pk, at)
    require_change(request, structure.site.client.firm_id, at.date())
    back = reverse("structure-parts", args=[pk])
    page = Page(f"Add a system of {structure.name}", "Add the system", of_structure(structure), back)
    return answer(
        request, SystemForm(data_of(request)), page,
        lambda said: register.create_system(structure, **said, by=signed_in(request), at=at),
        done=lambda row: (f"{row.name} is on record. Its parts come next.", back),
    )  # fmt: skip


@require_http_methods(EDIT)
def system_change(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    found = get_object_or_404(
        System.objects.visible_to(signed_in(request), on=at.date()).select_related("structure__site__client"),
        pk=pk,
    )
    require_change(request, found.structure.site.client.firm_id, at.date())
    back = reverse("structure-parts", args=[found.structure_id])
    page = Page(f"Change {found.name}", "Record the change", of_structure(found.structure), back)
    return answer(
        request, SystemChangeForm(data_of(request), now=found), page,
        lambda said: register.change_system(found, **said, by=signed_in(request), at=at),
        done=lambda row: (f"The change of {row.name} is on record.", back),
    )  # fmt: skip


def _structure(request: HttpRequest, pk: int, at: datetime) -> Structure:
    known = Structure.objects.visible_to(signed_in(request), on=at.date())
    return get_object_or_404(known.select_related("site__client__firm"), pk=pk)
