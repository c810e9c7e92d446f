"""Firms, their clients, and the clients' sites."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from sites import log
from sites.actions.register.checks import (
    SITE_FACTS,
    Reckoning,
    change,
    facts_of,
    keep,
    nothing,
    require_begun,
    require_later,
    require_position,
    require_time_zone,
    told,
)
from sites.models import Client, Firm, Paper, Person, Site, SiteDetail


@transaction.atomic
def create_firm(
    *, name: str, address: str, by: Person | None, at: datetime, accreditation: str | None = None
) -> Firm:
    """A firm with the head of its own log. ``by`` is None while nobody belongs to it yet."""
    firm = Firm(name=name, address=address, recorded_at=at)
    if accreditation is not None:
        firm.accreditation = accreditation
    keep(firm)
    log.begin(firm)
    log.record(firm, "firm created", firm, by=by, at=at, facts={"name": name, "address": address})
    return firm


@transaction.atomic
def create_client(firm: Firm, *, name: str, by: Person, at: datetime, paper: str = Paper.A4) -> Client:
    client = keep(Client(firm=firm, name=name, paper=paper, recorded_at=at))
    log.record(firm, "client created", client, by=by, at=at, facts={"name": name, "paper": str(paper)})
    return client


@transaction.atomic
def change_client(client: Client, *, since: date, by: Person, at: datetime, **changed: Any) -> Client:
    """What a client is called, and on what paper reports go out, from a day on. Raises: RegisterRefused"""
    client = (
        Client.objects.select_for_update(of=("self",), no_key=True).select_related("firm").get(pk=client.pk)
    )
    facts = change(client, ("name", "paper"), changed)
    log.record(
        client.firm, "client described", client, by=by, at=at, facts={"since": since.isoformat(), **facts}
    )
    return client


@transaction.atomic
def create_site(
    client: Client,
    *,
    name: str,
    time_zone: str,
    by: Person,
    at: datetime,
    address: str = "",
    latitude: Decimal | None = None,
    longitude: Decimal | None = None,
) -> Site:
    """A site. latitude, longitude: degrees, north and east positive. Raises: RegisterRefused"""
    require_time_zone(time_zone)
    require_position(latitude, longitude)
    facts = {
        "name": name,
        "address": address,
        "time_zone": time_zone,
        "latitude": latitude,
        "longitude": longitude,
    }
    site = keep(Site(client=client, recorded_at=at, **facts))
    log.record(client.firm, "site created", site, by=by, at=at, facts=told(facts))
    return site


@transaction.atomic
def change_site(
    site: Site, *, since: date, by: Person, at: datetime, before_log: Reckoning = nothing, **changed: Any
) -> Site:
    """What a site is like from a day on; what is not named stays. Raises: RegisterRefused

    Days are counted in its time zone: ``before_log`` gets every structure there.
    """
    site = (
        Site.objects.select_for_update(of=("self",), no_key=True)
        .select_related("client__firm")
        .get(pk=site.pk)
    )
    require_time_zone(changed.get("time_zone", site.time_zone))
    require_position(changed.get("latitude", site.latitude), changed.get("longitude", site.longitude))
    require_begun(since, site, at)
    require_later(site, since, site.details.values_list("since", flat=True))
    before = SiteDetail(site=site, since=_first_day(site), recorded_at=site.recorded_at)
    for name, value in facts_of(site, SITE_FACTS).items():
        setattr(before, name, value)
    facts = change(site, ("name", *SITE_FACTS), changed)
    if not site.details.exists():
        before.save(force_insert=True)
    SiteDetail.objects.create(site=site, since=since, recorded_at=at, **facts_of(site, SITE_FACTS))
    before_log(list(site.structures.order_by("pk").values_list("pk", flat=True)))
    log.record(
        site.client.firm, "site described", site, by=by, at=at, facts={"since": since.isoformat(), **facts}
    )
    return site


def _first_day(site: Site) -> date:
    """A site is described since the day it was recorded; its first description is kept with its first change."""
    return site.day_at(site.recorded_at)
