"""The overdue register as a file: the due list's own walls and filters."""

from datetime import date
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from inspections import due_list
from inspections.filters import DueFilter
from inspections.views.due import memberships
from reports import overdue_register
from reports.pdf import overdue
from sites.exports.answer import no_file
from sites.models import Client, Firm, Paper, Person, Site, Structure
from sites.tables import understood
from sites.templatetags.downlead import day
from sites.views.signed_in import signed_in


@require_safe
def overdue_file(request: HttpRequest) -> HttpResponse:
    """What is overdue now, narrowed as the address says, as PDF."""
    at = timezone.now()
    person, on = signed_in(request), at.date()
    held = memberships(person, on)
    everything = due_list.owed_to(person, held, on=on)
    clients = Client.objects.visible_to(person, on=on)
    wanted = DueFilter(
        request.GET,
        due_list.with_today(everything, at),
        clients=clients,
        named=lambda text: due_list.with_today(
            due_list.named(everything, Structure.objects.visible_to(person, on=on), text), at
        ),
    )
    understood.names(request, form=wanted.form, beside=[""])
    if sentences := [*understood.narrowing(wanted.form), *understood.of_page(request).values()]:
        return no_file(request, sentences, reverse("due"))
    told = wanted.told
    client: Client | None = told.get("client")
    firms = Firm.objects.filter(pk__in={firm for firm, _ in held}).order_by("name")
    register = overdue_register.gather(
        wanted.qs,
        firm=client.firm.name if client else ", ".join(firm.name for firm in firms) or "No firm",
        paper=client.paper if client else paper_of(clients),
        narrowed=shown_words(
            client,
            told["demand"],
            told["text"],
            told["since"],
            told["until"],
            site=_site_called(told["site"], person, on),
        ),
        at=at,
    )
    return as_pdf(register, f"overdue {register.day}")


def _site_called(pk: Decimal | None, person: Person, on: date) -> str:
    """The name of the one site that the list is narrowed to; empty where it is not."""
    if pk is None:
        return ""
    site = Site.objects.visible_to(person, on=on).filter(pk=int(pk)).first()
    return site.name if site else "no site that may be seen"


def as_pdf(register: overdue_register.OverdueRegister, name: str) -> HttpResponse:
    """The register as an attachment. name: in words"""
    return HttpResponse(
        overdue.render(register),
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'attachment; filename="{slugify(name)}.pdf"',
            "Cache-Control": "private, no-store",
            "X-Content-Type-Options": "nosniff",
        },
    )


def paper_of(clients: object) -> str:
    """Letter where every client that is seen takes Letter, else A4."""
    papers = set(clients.order_by().values_list("paper", flat=True).distinct())  # type: ignore[attr-defined]
    return Paper.LETTER if papers == {Paper.LETTER} else Paper.A4


def shown_words(
    client: Client | None,
    demand: str,
    text: str,
    since: date | None = None,
    until: date | None = None,
    *,
    site: str = "",
) -> str:
    parts = [f"client {client.name}" if client else "all clients that may be seen"]
    if site:
        parts = [*([parts[0]] if client else ()), f"one site only: {site}"]
    if demand:
        parts.append(f"{demand} inspections")
    if text:
        parts.append(f"places named “{text}”")
    if since:
        parts.append(f"due from {day(since)}")
    if until:
        parts.append(f"due until {day(until)}")
    return ", ".join(parts)
