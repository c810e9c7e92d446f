"""Sessions: their age, when they were last seen, from where, and ending them."""

import time
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from allauth.account.adapter import get_adapter
from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.http import HttpRequest
from django.utils import timezone

from sites.models import Person
from sites.signing.devices import device

BEGAN, SEEN = "signed_in_at", "seen_at"
# How finely "last seen" is told: a page view in between writes nothing.
SEEN_EVERY_SECONDS = 300
MOST_LISTED = 50


@dataclass(frozen=True)
class SignedIn:
    """One session. current: the one that asks"""

    pk: int
    device: str
    address: str
    since: datetime
    seen: datetime
    current: bool


def begin(request: HttpRequest) -> None:
    """Note when this session began: its age counts from here, whatever is done in it."""
    now = int(time.time())
    request.session[BEGAN], request.session[SEEN] = now, now


def age_seconds(request: HttpRequest) -> float | None:
    """Since signing in; None for a session that did not begin at the sign-in page."""
    began = request.session.get(BEGAN)
    return None if began is None else time.time() - began


def note_seen(request: HttpRequest) -> None:
    """Now and then, write when and from where the session was last used."""
    seen = request.session.get(SEEN)
    if seen is None or time.time() - seen < SEEN_EVERY_SECONDS:
        return
    request.session[SEEN] = int(time.time())
    UserSession.objects.filter(session_key=request.session.session_key).update(
        last_seen_at=timezone.now(), ip=get_adapter().get_client_ip(request)
    )


def sessions_of(person: Person, *, current: str | None, at: datetime) -> list[SignedIn]:
    """Those under way, last seen first, at most fifty. current: the key of the session that asks"""
    rows = UserSession.objects.filter(user=person).order_by("-last_seen_at", "-pk")
    alive = set(
        Session.objects.filter(session_key__in=rows.values("session_key"), expire_date__gt=at).values_list(
            "session_key", flat=True
        )
    )
    return [
        SignedIn(
            row.pk,
            device(row.user_agent),
            row.ip,
            row.created_at,
            row.last_seen_at,
            row.session_key == current,
        )
        for row in rows
        if row.session_key in alive
    ][:MOST_LISTED]


def end_session(person: Person, pk: int) -> bool:
    """End one session of a person's own. False where they have no such session."""
    keys = list(UserSession.objects.filter(user=person, pk=pk).values_list("session_key", flat=True))
    _end(keys)
    return bool(keys)


def end_sessions(person: Person, *, but: str | None = None) -> int:
    """End a person's sessions, all or all but one (its key). Returns: how many"""
    rows = UserSession.objects.filter(user=person)
    keys = [key for key in rows.values_list("session_key", flat=True) if key != but]
    _end(keys)
    return len(keys)


def _end(keys: Iterable[str]) -> None:
    keys = list(keys)
    Session.objects.filter(session_key__in=keys).delete()
    UserSession.objects.filter(session_key__in=keys).delete()
