"""The year as a picture, a line a site, the sites of one client together."""

from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from inspections import due_list
from inspections.local_days import usual_day
from inspections.models import Visit
from inspections.views.due import memberships
from inspections.year_picture import Year, picture, years_of
from sites.models import Client, Site
from sites.tables.paged import FetchedInPages, paginate
from sites.views.signed_in import signed_in

SITES_A_PAGE = 25
YEARS = 5


class SiteYear(NamedTuple):
    site: Site
    year: Year


class YearTable(tables.Table):
    site = tables.Column(empty_values=())
    picture = tables.Column("The year", empty_values=())
    words = tables.Column("In words", empty_values=())

    caption = "The year by site"
    empty_head = "No site here"

    class Meta:
        orderable = False
        empty_text = "Sites come in with the register."

    def __init__(self, *args: Any, number: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.number = number
        self.at = timezone.now()

    def group_of(self, record: SiteYear) -> str:
        return record.site.client.name

    def render_site(self, record: SiteYear) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("site", args=[record.site.pk]), record.site.name)

    def render_picture(self, record: SiteYear) -> SafeString:
        today = self.at.astimezone(ZoneInfo(record.site.time_zone)).date()
        return picture(record.year, self.number, today)

    def render_words(self, record: SiteYear) -> str:
        return record.year.words()


@require_safe
def year(request: HttpRequest) -> HttpResponse:
    at = timezone.now()
    person, on = signed_in(request), at.date()
    now = usual_day(at).year
    asked = request.GET.get("year", "")
    number = (
        int(asked) if asked.isascii() and asked.isdecimal() and abs(int(asked[:4]) - now) <= YEARS else now
    )
    clients = Client.objects.visible_to(person, on=on)
    chosen = request.GET.get("client", "")
    places = Site.objects.visible_to(person, on=on).select_related("client")
    if chosen.isascii() and chosen.isdecimal() and len(chosen) < 10:
        places = places.filter(client=int(chosen))
    places = places.order_by("client__name", "client", "name", "pk")
    owed = due_list.with_today(due_list.owed_to(person, memberships(person, on), on=on), at)
    visits = Visit.objects.visible_to(person, on=on)

    def fetch(start: int, stop: int) -> list[SiteYear]:
        rows = list(places[start:stop])
        found = years_of(rows, owed, visits, number, at)
        return [SiteYear(row, found[row.pk]) for row in rows]

    table = YearTable(FetchedInPages(fetch), number=number)
    paginate(table, request, per_page=SITES_A_PAGE)
    shown = {
        "table": table, "number": number, "clients": clients.order_by("name", "pk"), "chosen": chosen,
        "years": range(now - YEARS, now + YEARS + 1),
    }  # fmt: skip
    return render(request, "inspections/year.html", shown)
