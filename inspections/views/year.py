"""The year as a picture, a line a site, the sites of one client together."""

from datetime import date
from functools import partial
from typing import Any, NamedTuple

import django_tables2 as tables
from django import forms
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponseBase
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
from sites.exports.answer import as_file
from sites.exports.columns import InFile
from sites.forms.filters import FilterForm
from sites.models import Client, Site
from sites.tables.paged import FetchedInPages, paginate
from sites.templatetags.downlead import day as in_words
from sites.views.signed_in import signed_in

SITES_A_PAGE = 25
YEARS = 5


class YearFilter(FilterForm):
    """now: the year it is, which stands where none is chosen; clients: those the person may see"""

    year = forms.ChoiceField(label="Year", required=False)
    client = forms.ModelChoiceField(
        Client.objects.none(), label="Client", required=False, empty_label="All clients"
    )

    def __init__(self, data: Any, *, now: int, clients: QuerySet[Client]) -> None:
        super().__init__({**data.dict(), "year": data.get("year") or str(now)})
        year: Any = self.fields["year"]
        year.choices = [(str(one), str(one)) for one in range(now - YEARS, now + YEARS + 1)]
        client: Any = self.fields["client"]
        client.queryset = clients


class SiteYear(NamedTuple):
    site: Site
    year: Year


def _first_day(name: str, row: SiteYear) -> date | None:
    return min(getattr(row.year, name), default=None)


def _further_days(name: str, row: SiteYear) -> str | None:
    return "; ".join(in_words(one) for one in sorted(getattr(row.year, name))[1:]) or None


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

    def in_file(self) -> InFile:
        days = (("done", "Done"), ("planned", "Planned"), ("due", "Due"), ("overdue", "Overdue, was due"))
        return {
            "site": (("Client", "site__client__name"), ("Site", "site__name")),
            "picture": (),
            "words": tuple(
                column
                for name, head in days
                for column in (
                    (f"{head}, first day", partial(_first_day, name)),
                    (f"{head}, further days", partial(_further_days, name)),
                )
            ),
        }

    def group_of(self, record: SiteYear) -> str:
        return record.site.client.name

    def render_site(self, record: SiteYear) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("site", args=[record.site.pk]), record.site.name)

    def render_picture(self, record: SiteYear) -> SafeString:
        today = record.site.day_at(self.at)
        return picture(record.year, self.number, today)

    def render_words(self, record: SiteYear) -> SafeString | str:
        return record.year.linked()


@require_safe
def year(request: HttpRequest) -> HttpResponseBase:
    at = timezone.now()
    person, on = signed_in(request), at.date()
    now = usual_day(at).year
    wanted = YearFilter(request.GET, now=now, clients=Client.objects.visible_to(person, on=on))
    number = int(wanted.told.get("year") or now)
    places = Site.objects.visible_to(person, on=on).select_related("client")
    if wanted.told.get("client"):
        places = places.filter(client=wanted.told["client"])
    places = places.order_by("client__name", "client", "name", "pk")
    owed = due_list.with_today(due_list.owed_to(person, memberships(person, on), on=on), at)
    visits = Visit.objects.visible_to(person, on=on)

    def fetch(start: int, stop: int) -> list[SiteYear]:
        rows = list(places[start:stop])
        found = years_of(rows, owed, visits, number, at)
        return [SiteYear(row, found[row.pk]) for row in rows]

    table = YearTable(FetchedInPages(fetch), number=number)
    if file := as_file(request, table, f"the year {number}", at=at, narrowed_by=wanted):
        return file
    paginate(table, request, per_page=SITES_A_PAGE)
    return render(request, "inspections/year.html", {"table": table, "number": number, "form": wanted})
