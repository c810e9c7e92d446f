"""Calendars behind a secret address: made, given a new address, taken back. The secret itself is stored nowhere."""

import hashlib
import secrets
from datetime import datetime

from django.db import transaction

from inspections.models import CalendarFeed, FeedKind
from sites import log
from sites.models import Client, Firm, Person, Site

MOST = 50


class CalendarRefused(Exception):
    """A calendar that cannot be made, with the sentence for the person who asked."""


@transaction.atomic
def make(
    firm: Firm, *, by: Person, at: datetime, site: Site | None = None, client: Client | None = None
) -> tuple[CalendarFeed, str]:
    """A calendar of a site, of a client, or (neither given) of the person's own visits.

    Returns: the calendar and its secret, to be shown once
    Raises: CalendarRefused where the person has too many already
    """
    if CalendarFeed.objects.filter(person=by, revoked_at=None).count() >= MOST:
        raise CalendarRefused(f"You have {MOST} calendars already. Take one back first.")
    secret = secrets.token_urlsafe(32)
    kind = FeedKind.SITE if site else FeedKind.CLIENT if client else FeedKind.OWN
    feed = CalendarFeed.objects.create(
        firm=firm,
        person=by,
        kind=kind,
        site=site,
        client=client,
        secret_sha256=hashed(secret),
        recorded_at=at,
    )
    log.record(firm, "calendar made", feed, by=by, at=at, facts={"of": _of(feed)})
    return feed, secret


@transaction.atomic
def replace(feed: CalendarFeed, *, by: Person, at: datetime) -> str:
    """A new secret; the old address answers no longer. Returns: the secret, to be shown once"""
    feed = _standing(feed)
    secret = secrets.token_urlsafe(32)
    feed.secret_sha256, feed.replaced_at = hashed(secret), at
    feed.save(update_fields=["secret_sha256", "replaced_at"])
    log.record(feed.firm, "calendar's address replaced", feed, by=by, at=at, facts={"of": _of(feed)})
    return secret


@transaction.atomic
def revoke(feed: CalendarFeed, *, by: Person, at: datetime) -> None:
    """The address answers no longer."""
    feed = _standing(feed)
    feed.revoked_at = at
    feed.save(update_fields=["revoked_at"])
    log.record(feed.firm, "calendar taken back", feed, by=by, at=at, facts={"of": _of(feed)})


def hashed(secret: str) -> str:
    """Under which a calendar is looked up: 256 random bits need no salt."""
    return hashlib.sha256(secret.encode()).hexdigest()


def _standing(feed: CalendarFeed) -> CalendarFeed:
    fresh = (
        CalendarFeed.objects.select_for_update(of=("self",), no_key=True)
        .select_related("firm")
        .get(pk=feed.pk)
    )
    if fresh.revoked_at is not None:
        raise CalendarRefused("This calendar was taken back already.")
    return fresh


def _of(feed: CalendarFeed) -> str:
    thing = feed.site or feed.client or feed.person
    return str(thing.identity)
