"""Calendars to subscribe to: the page to make and take them back, and the address that answers with one."""

from datetime import datetime
from urllib.parse import urljoin

from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inspections import calendar_feed
from inspections.actions import calendars as acts
from inspections.models import CalendarFeed
from sites.forms.plain import PlainForm
from sites.models import Client, Firm, Membership, Site
from sites.views.signed_in import signed_in

FETCHES, SECONDS = 60, 300
LONGEST_SECRET = 100
MOST_SITES = 500


class FeedForm(PlainForm):
    """Of what: the person's own visits, or one of the clients or sites they see."""

    of = forms.ChoiceField(
        label="Calendar of",
        error_messages={
            "required": "Choose what the calendar shows.",
            "invalid_choice": "Choose one of the list.",
        },
    )

    def __init__(self, *args: object, request: HttpRequest, at: datetime, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        person, on = signed_in(request), at.date()
        clients = Client.objects.visible_to(person, on=on).order_by("name", "pk")[:MOST_SITES]
        sites = Site.objects.visible_to(person, on=on).select_related("client").order_by("name", "pk")
        self.clients = {f"client-{row.pk}": row for row in clients}
        self.sites = {f"site-{row.pk}": row for row in sites[:MOST_SITES]}
        self.fields["of"].choices = [  # type: ignore[attr-defined]
            ("", "Choose"),
            ("own", "My own visits"),
            ("Clients", [(key, row.name) for key, row in self.clients.items()]),
            ("Sites", [(key, f"{row.name}, {row.client.name}") for key, row in self.sites.items()]),
        ]


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def calendars(request: HttpRequest) -> HttpResponse:
    """The person's calendars. A new one's address is shown in this answer and never again."""
    at = timezone.now()
    form = FeedForm(request.POST if request.method == "POST" else None, request=request, at=at)
    if request.method == "POST" and form.is_valid():
        chosen = form.cleaned_data["of"]
        site, client = form.sites.get(chosen), form.clients.get(chosen)
        firm = site.client.firm if site else client.firm if client else _own_firm(request, at)
        if firm is None:
            form.add_error("of", "You belong to no firm today, so there are no visits of yours.")
        else:
            try:
                _, secret = acts.make(firm, site=site, client=client, by=signed_in(request), at=at)
            except acts.CalendarRefused as refused:
                form.add_error("of", str(refused))
            else:
                return _page(request, FeedForm(request=request, at=at), secret=secret)
    return _page(request, form)


@never_cache
@require_POST
def replace(request: HttpRequest, pk: int) -> HttpResponse:
    at = timezone.now()
    feed = get_object_or_404(CalendarFeed, pk=pk, person=signed_in(request), revoked_at=None)
    secret = acts.replace(feed, by=signed_in(request), at=at)
    return _page(request, FeedForm(request=request, at=at), secret=secret)


@require_POST
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    feed = get_object_or_404(CalendarFeed, pk=pk, person=signed_in(request), revoked_at=None)
    acts.revoke(feed, by=signed_in(request), at=timezone.now())
    messages.success(request, "The calendar is taken back. Its address answers no longer.")
    return redirect("calendars")


@login_not_required
@require_safe
def fetch(request: HttpRequest, secret: str) -> HttpResponseBase:
    """The calendar behind a secret address; 404 where it is unknown, taken back, or not its owner's to see."""
    at = timezone.now()
    if len(secret) > LONGEST_SECRET:
        raise Http404
    known = acts.hashed(secret)
    feed = (
        CalendarFeed.objects.filter(secret_sha256=known, revoked_at=None)
        .select_related("person", "firm", "client", "site__client")
        .first()
    )
    if feed is None:
        raise Http404
    if _too_often(known, at):
        left = SECONDS - int(at.timestamp()) % SECONDS
        return HttpResponse(
            "Too many fetches; come back in a few minutes.\n", status=429, headers={"Retry-After": str(left)}
        )
    try:
        body = calendar_feed.content(feed, at=at)
    except calendar_feed.NothingToSee as nothing:
        raise Http404 from nothing
    tag = calendar_feed.etag(body)
    whole = HttpResponse(
        body,
        content_type="text/calendar; charset=utf-8",
        headers={
            "Content-Disposition": 'inline; filename="downlead.ics"',
            "ETag": tag,
            "Cache-Control": "private, no-cache",
            "Referrer-Policy": "no-referrer",
            "X-Robots-Tag": "noindex",
        },
    )
    return get_conditional_response(request, etag=tag, response=whole) or whole


def _too_often(known: str, at: datetime) -> bool:
    """More than sixty fetches of one address within the same five minutes by the clock.

    Each five minutes have a count of their own: counting on makes a count last longer.
    """
    key = f"calendar-{known}-{int(at.timestamp()) // SECONDS}"
    if cache.add(key, 1, SECONDS):
        return False
    try:
        return cache.incr(key) > FETCHES
    except ValueError:  # it was dropped between the two
        return False


def _own_firm(request: HttpRequest, at: datetime) -> Firm | None:
    held = Membership.objects.on(at.date()).filter(person=signed_in(request)).select_related("firm")
    row = held.order_by("pk").first()
    return row.firm if row else None


def _page(request: HttpRequest, form: FeedForm, secret: str = "") -> HttpResponse:
    feeds = CalendarFeed.objects.filter(person=signed_in(request), revoked_at=None)
    address = urljoin(settings.PUBLIC_URL, reverse("calendar", args=[secret])) if secret else ""
    context = {
        "form": form,
        "feeds": feeds.select_related("client", "site", "person")[: acts.MOST],
        "address": address,
    }
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "inspections/calendars.html", context, status=status)
