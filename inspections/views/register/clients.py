"""Clients and their sites: a client's page, and adding and changing both."""

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inspections import place_lists, register_history
from inspections.actions import register as derived
from inspections.forms.register import (
    ClientChangeForm,
    NewClientForm,
    SiteChangeForm,
    SiteForm,
)
from inspections.tables.places import ClientSitesTable
from inspections.views.register.editing import (
    Page,
    answer,
    data_of,
    may_change,
    of_client,
    of_site,
    require_change,
)
from sites import access, document_shelf
from sites.access import MAY, require
from sites.actions import register
from sites.exports.answer import as_file
from sites.models import Client, Firm, Membership, Site
from sites.tables.paged import paginate
from sites.views.signed_in import signed_in

SITES_A_PAGE = 50
EDIT = ["GET", "HEAD", "POST"]


@require_safe
def client(request: HttpRequest, pk: int) -> HttpResponseBase:
    """One client with those of its sites that the person may see."""
    at = timezone.now()
    person = signed_in(request)
    known = Client.objects.visible_to(person, on=at.date()).select_related("firm")
    found = get_object_or_404(known, pk=pk)
    sites = Site.objects.visible_to(person, on=at.date()).filter(client=found)
    table = ClientSitesTable(place_lists.paged_sites(sites, at))
    if file := as_file(request, table, f"sites of {found}", at=at):
        return file
    paginate(table, request, per_page=SITES_A_PAGE)
    table.empty_head = "No site is recorded for this client"
    table.empty_text = "A site has one address and one time zone; its structures stand at it."
    context = {
        "client": found,
        "table": table,
        "number": sites.count(),
        "may_change": may_change(request, found.firm_id, at.date()),
        "past": register_history.history(found),
        "shelf": document_shelf.of_client(found, person, on=at.date()),
    }
    return render(request, "inspections/register/client.html", context)


@require_http_methods(EDIT)
def client_new(request: HttpRequest) -> HttpResponse:
    at = timezone.now()
    held = Membership.objects.on(at.date()).filter(
        person=signed_in(request), role__in=MAY[access.CHANGE_REGISTER]
    )
    firms = Firm.objects.filter(pk__in=held.values("firm")).order_by("name")
    require(firms.exists())
    form = NewClientForm(data_of(request), firms=firms)
    page = Page("Add a client", "Add the client", [("Sites", reverse("sites"))], reverse("sites"))
    return answer(
        request, form, page,
        lambda said: register.create_client(**said, by=signed_in(request), at=at),
        done=lambda row: (f"{row.name} is on record. Its sites come next.", reverse("client", args=[row.pk])),
    )  # fmt: skip


@require_http_methods(EDIT)
def client_change(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    found = get_object_or_404(Client.objects.visible_to(signed_in(request), on=at.date()), pk=pk)
    require_change(request, found.firm_id, at.date())
    back = reverse("client", args=[pk])
    page = Page(f"Change {found.name}", "Record the change", of_client(found), back)
    form = ClientChangeForm(data_of(request), now=found)
    return answer(
        request, form, page,
        lambda said: register.change_client(found, **said, by=signed_in(request), at=at),
        done=lambda row: (f"The change of {row.name} is on record.", back),
    )  # fmt: skip


@require_http_methods(EDIT)
def site_new(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    owner = get_object_or_404(
        Client.objects.visible_to(signed_in(request), on=at.date()).select_related("firm"), pk=pk
    )
    require_change(request, owner.firm_id, at.date())
    page = Page(
        f"Add a site of {owner.name}", "Add the site", of_client(owner), reverse("client", args=[pk]),
        "A place with one address. Days there are counted in its own time zone.",
    )  # fmt: skip
    return answer(
        request, SiteForm(data_of(request)), page,
        lambda said: register.create_site(owner, **said, by=signed_in(request), at=at),
        done=lambda row: (f"{row.name} is on record. Its structures come next.", reverse("site", args=[row.pk])),
    )  # fmt: skip


@require_http_methods(EDIT)
def site_change(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    found = get_object_or_404(
        Site.objects.visible_to(signed_in(request), on=at.date()).select_related("client"), pk=pk
    )
    require_change(request, found.client.firm_id, at.date())
    back = reverse("site", args=[pk])
    page = Page(
        f"Change {found.name}", "Record the change", of_site(found), back,
        "Another time zone counts every day at this site anew, also what is due.",
    )  # fmt: skip
    return answer(
        request, SiteChangeForm(data_of(request), now=found), page,
        lambda said: derived.change_site(found, **said, by=signed_in(request), at=at),
        done=lambda row: (f"The change of {row.name} is on record.", back),
    )  # fmt: skip
