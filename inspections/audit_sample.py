"""A sample that anybody can draw again: no chance in it but a seed that is printed.

How it is drawn: take the identities of everything the sample is drawn from, as lower-case text with hyphens, in
ascending order. Work out for each the SHA-256 of the UTF-8 text "seed:identity", in hexadecimal. The n identities with
the lowest hashes are the sample, the lowest first. (Common practice for repeatable selection, no published source.)
"""

import hashlib
import heapq
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from inspections.models import Reading, Visit
from sites.models import Client, Firm, Person, TestPoint

VISITS, POINTS = "visits", "points"
MOST_DRAWN = 200


def rank(seed: str, identity: str) -> str:
    """The hash that decides, as 64 hexadecimal digits."""
    return hashlib.sha256(f"{seed}:{identity}".encode()).hexdigest()


def drawn(seed: str, identities: Iterable[str], number: int) -> list[str]:
    """The sample, the lowest hash first; all of them where there are no more than that many."""
    return heapq.nsmallest(number, identities, key=lambda identity: (rank(seed, identity), identity))


def fingerprint(identities: Iterable[str]) -> str:
    """The SHA-256 of the identities in ascending order, a line feed after each: tells one population from another."""
    found = hashlib.sha256()
    for identity in sorted(identities):
        found.update(f"{identity}\n".encode())
    return found.hexdigest()


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a sample is drawn from. of: VISITS that were carried out, or POINTS

    since, until: days in UTC, both included, on which the visit ended or the point was read
    kind: of the visit or, for points, the quantity; "" for all
    """

    of: str
    number: int
    seed: str
    client: Client | None = None
    since: date | None = None
    until: date | None = None
    kind: str = ""

    def told(self) -> dict[str, Any]:
        """As it stands in the log."""
        return {
            "of": self.of,
            "number": self.number,
            "seed": self.seed,
            "client": str(self.client.identity) if self.client else None,
            "since": self.since.isoformat() if self.since else None,
            "until": self.until.isoformat() if self.until else None,
            "kind": self.kind or None,
        }


def wanted_of(told: dict[str, Any]) -> Wanted:
    """The question behind a log entry's facts."""
    client = Client.objects.filter(identity=told["client"]).first() if told["client"] else None
    days = {name: date.fromisoformat(told[name]) if told[name] else None for name in ("since", "until")}
    return Wanted(told["of"], told["number"], told["seed"], client, kind=told["kind"] or "", **days)


def population(wanted: Wanted, firm: Firm, person: Person, *, at: datetime) -> QuerySet:
    """Everything of that firm the sample is drawn from, as the record knew it, where the person might look then."""
    if wanted.of == VISITS:
        return _visits(wanted, firm, person, at)
    return _points(wanted, firm, person, at)


def identities_of(rows: QuerySet) -> list[str]:
    return [str(identity) for identity in rows.order_by().values_list("identity", flat=True)]


def _period(wanted: Wanted, column: str) -> Q:
    found = Q()
    if wanted.since:
        found &= Q(**{f"{column}__gte": datetime.combine(wanted.since, time.min, UTC)})
    if wanted.until:
        found &= Q(**{f"{column}__lt": datetime.combine(wanted.until + timedelta(days=1), time.min, UTC)})
    return found


def _visits(wanted: Wanted, firm: Firm, person: Person, at: datetime) -> QuerySet:
    rows = Visit.objects.visible_to(person, on=at.date()).filter(firm=firm, on_site_until__lte=at)
    rows = rows.filter(_period(wanted, "on_site_until"))
    if wanted.client:
        rows = rows.filter(structure__site__client=wanted.client)
    return rows.filter(kind=wanted.kind) if wanted.kind else rows


def _points(wanted: Wanted, firm: Firm, person: Person, at: datetime) -> QuerySet:
    rows = TestPoint.objects.visible_to(person, on=at.date()).standing_on(at.date())
    rows = rows.filter(structure__site__client__firm=firm, recorded_at__lte=at)
    if wanted.since or wanted.until:
        read = Reading.objects.standing().filter(
            _period(wanted, "at"), point=OuterRef("pk"), recorded_at__lte=at
        )
        rows = rows.filter(Exists(read))
    if wanted.client:
        rows = rows.filter(structure__site__client=wanted.client)
    return rows.filter(quantity=wanted.kind) if wanted.kind else rows
