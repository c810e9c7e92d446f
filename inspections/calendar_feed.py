"""What a calendar shows, as iCalendar (RFC 5545): visits, and what is due, as whole days at the site.

Names of places and what is asked for, never a person, a number to call or an address to write to.
"""

import hashlib
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any
from urllib.parse import urljoin
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Count, Max, Q, QuerySet
from django.urls import reverse
from icalendar import Calendar, Event

from inspections.due_list import owed_to, running, with_today
from inspections.models import CalendarFeed, DueDate, FeedKind, Visit, VisitPerson, VisitState
from inspections.standing_words import standing_of
from sites.models import WHOLE_FIRM_ROLES, Client, Membership, Person, Role, Site

BACK, AHEAD = timedelta(days=60), timedelta(days=550)
MOST = 2_000
PRODUCT = "-//Downlead//Inspection calendar//EN"
DUE_FOR = (*WHOLE_FIRM_ROLES, Role.FACILITY, Role.AUDITOR)


class NothingToSee(Exception):
    """The owner may not see any of it (any longer)."""


def content(feed: CalendarFeed, *, at: datetime) -> bytes:
    """The calendar as its owner may see it now. The same record gives the same bytes.

    Raises: NothingToSee
    """
    on, person = at.date(), feed.person
    held = list(
        Membership.objects.on(on).filter(person=person, firm=feed.firm).values_list("firm_id", "role")
    )
    if not person.is_active or not held:
        raise NothingToSee
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("x-wr-calname", _name(feed))
    calendar.add("refresh-interval", timedelta(hours=6), parameters={"VALUE": "DURATION"})
    for event in (*_visit_events(_visits(feed, on), on), *_due_events(_due(feed, held, at), at)):
        calendar.add_component(event)
    return calendar.to_ical()


def etag(body: bytes) -> str:
    return f'"{hashlib.sha256(body).hexdigest()}"'


def _name(feed: CalendarFeed) -> str:
    if feed.kind == FeedKind.SITE and feed.site:
        return f"{feed.site.name}: visits and due days"
    return f"{feed.client.name}: visits and due days" if feed.client else "My visits"


def _visits(feed: CalendarFeed, on: date) -> QuerySet[Visit]:
    rows = Visit.objects.visible_to(feed.person, on=on).filter(firm=feed.firm)
    rows = _of_feed(rows, feed, on, "structure__site")
    if feed.kind == FeedKind.OWN and _is_inspector(feed.person, feed.firm_id, on):
        rows = rows.filter(pk__in=VisitPerson.objects.filter(person=feed.person).values("visit"))
    rows = rows.filter(planned_on__gte=on - BACK, planned_on__lte=on + AHEAD)
    rows = rows.annotate(
        moves=Count("planned_days", distinct=True), changes=Count("steps", distinct=True),
        moved_at=Max("planned_days__recorded_at"), changed_at=Max("steps__recorded_at"),
    )  # fmt: skip
    recent = datetime.combine(on - BACK, datetime.min.time(), UTC)
    rows = rows.filter(~Q(state=VisitState.CANCELLED) | Q(changed_at__gte=recent))
    return rows.select_related("structure__site__client").order_by("planned_on", "pk")[:MOST]


def _is_inspector(person: Person, firm: int, on: date) -> bool:
    held = set(Membership.objects.on(on).filter(person=person, firm=firm).values_list("role", flat=True))
    return Role.INSPECTOR in held and not held & set(WHOLE_FIRM_ROLES)


def _due(feed: CalendarFeed, held: list[tuple[int, str]], at: datetime) -> Iterable[DueDate]:
    """Due days, for those of the office and for who answers for the place; not for an inspector's own visits."""
    if not {role for _, role in held} & set(DUE_FOR):
        return []
    rows = owed_to(feed.person, held, on=at.date()).filter(firm=feed.firm)
    rows = running(with_today(_of_feed(rows, feed, at.date(), "site"), at))
    # However long ago: what still runs has not been met, and the longest overdue is the last to leave out.
    rows = rows.filter(due__lte=at.date() + AHEAD)
    return rows.select_related("structure", "site__client", "rule", "event", "suspension")[:MOST]


def _of_feed(rows: Any, feed: CalendarFeed, on: date, path: str) -> Any:
    """Narrowed to the calendar's site or client, which its owner must still see."""
    if feed.kind == FeedKind.SITE:
        if not Site.objects.visible_to(feed.person, on=on).filter(pk=feed.site_id).exists():
            raise NothingToSee
        return rows.filter(**{path: feed.site_id})
    if feed.kind == FeedKind.CLIENT:
        if not Client.objects.visible_to(feed.person, on=on).filter(pk=feed.client_id).exists():
            raise NothingToSee
        return rows.filter(**{f"{path}__client": feed.client_id})
    return rows


def _visit_events(visits: Iterable[Any], on: date) -> Iterator[Event]:
    for visit in visits:
        first, last = _days(visit)
        cancelled = visit.state == VisitState.CANCELLED
        event = _event(f"visit-{visit.identity}", first, last, max(visit.moved_at, visit.changed_at))
        event.add("sequence", visit.moves + visit.changes - 2)
        event.add("status", "CANCELLED" if cancelled else "CONFIRMED")
        event.add("summary", f"{visit.get_kind_display().capitalize()} visit: {visit.structure.name}")
        event.add("location", _place(visit.structure.site))
        event.add("description", f"Visit {visit.number}, {visit.get_state_display()}.")
        event.add("url", _address("visit", visit.pk))
        event.add("transp", "OPAQUE")
        yield event


def _days(visit: Visit) -> tuple[date, date]:
    """First and last day at the site: as it was once it has begun, else as planned."""
    zone = ZoneInfo(visit.structure.site.time_zone)
    if visit.on_site_from is None:
        return visit.planned_on, visit.planned_on
    first = visit.on_site_from.astimezone(zone).date()
    return first, visit.on_site_until.astimezone(zone).date() if visit.on_site_until else first


def _due_events(rows: Iterable[DueDate], at: datetime) -> Iterator[Event]:
    seen: set[str] = set()
    for row in rows:
        asks = row.rule or row.event or row.suspension
        key = f"due-{row.structure.identity}-{_identity(row)}-{row.demand}-{row.due:%Y%m%d}"
        if key in seen:
            continue
        seen.add(key)
        event = _event(key, row.due, row.due, asks.recorded_at if asks else row.structure.recorded_at)
        event.add("sequence", 0)
        event.add("status", "CONFIRMED")
        today = at.astimezone(ZoneInfo(row.site.time_zone)).date()
        word = "Overdue" if standing_of(row, today).state == "overdue" else "Due"
        event.add("summary", f"{word}: {row.asked_for}, {row.structure.name}")
        event.add("location", _place(row.site))
        event.add("description", f"{row.author}.\n{row.why}")
        event.add("url", _address("structure", row.structure_id))
        event.add("transp", "TRANSPARENT")
        yield event


def _identity(row: DueDate) -> str:
    """Who asks, by what outlives this database; an edition has no identity, its code and edition name it."""
    if row.event:
        return str(row.event.identity)
    if row.suspension:
        return str(row.suspension.identity)
    named = f"{row.rule.code}/{row.rule.edition}" if row.rule else row.author
    return hashlib.sha256(named.encode()).hexdigest()[:16]


def _event(key: str, first: date, last: date, stamp: datetime) -> Event:
    event = Event()
    event.add("uid", f"{key}@downlead")
    event.add("dtstamp", stamp.astimezone(UTC).replace(microsecond=0))
    event.add("dtstart", first)
    event.add("dtend", last + timedelta(days=1))
    return event


def _place(site: Site) -> str:
    return f"{site.name}, {site.client.name}"


def _address(name: str, pk: int) -> str:
    return urljoin(settings.PUBLIC_URL, reverse(name, args=[pk]))
