"""Plans move freely, with a reason, and keep their history. No due date hangs on a plan, so none is refreshed here."""

from collections.abc import Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import QuerySet

from inspections.actions import booking
from inspections.actions.booking import VisitRefused
from inspections.models import (
    Instrument,
    MoveReason,
    PlannedDay,
    Visit,
    VisitInstrument,
    VisitPerson,
    VisitState,
    VisitStep,
)
from sites import log
from sites.models import Firm, Membership, Person, Role, Scope, Structure


@transaction.atomic
def move(
    visit: Visit,
    *,
    planned_on: date,
    reason: str,
    by: Person,
    at: datetime,
    words: str = "",
    anyway: str = "",
) -> Visit:
    """Plan the visit for another day. The due dates stay where they are.

    reason: one of MoveReason; words: needed for OTHER
    anyway: why it is booked although somebody or something does not fit the new day
    Raises: VisitRefused once the visit has begun or is cancelled, for the same day, a day gone by at the site, and
        without a reason; booking.NotBookable as in ``visits.plan``
    """
    visit = _planned(visit)
    _require_reason(reason, words)
    today = at.astimezone(ZoneInfo(visit.structure.site.time_zone)).date()
    if planned_on == visit.planned_on:
        raise VisitRefused(f"The visit is planned for {planned_on:%-d %b %Y} already. Give the new day.")
    if planned_on < today:
        raise VisitRefused(f"{planned_on:%-d %b %Y} has gone by at the site. Give a day from today on.")
    people, instruments = _people(visit), _instruments(visit)
    gaps = booking.gaps(visit.structure, visit.kind, planned_on, inspectors=people, instruments=instruments)
    booking.refuse(gaps, anyway)
    before, visit.planned_on = visit.planned_on, planned_on
    visit.save(update_fields=["planned_on"])
    day = PlannedDay.objects.create(
        visit=visit, planned_on=planned_on, reason=reason, words=words.strip(), by=by, recorded_at=at
    )
    booking.keep(day, gaps, anyway, by=by, at=at)
    facts = {
        "from": before.isoformat(),
        "to": planned_on.isoformat(),
        "reason": reason,
        "words": words.strip(),
        **booking.told(gaps, anyway),
    }
    log.record(visit.firm, "visit moved", visit, by=by, at=at, facts=facts)
    return visit


@transaction.atomic
def cancel(visit: Visit, *, reason: str, by: Person, at: datetime, words: str = "") -> Visit:
    """Give a visit up before it begins. What was due stays due; who was to go sees the site only until today.

    Raises: VisitRefused once the visit has begun or is cancelled, and without a reason
    """
    visit = _planned(visit)
    _require_reason(reason, words)
    people = _people(visit)
    lock_sight(people, visit.firm)
    visit.state = VisitState.CANCELLED
    visit.save(update_fields=["state"])
    for person in people:
        end_sight(person, visit.structure, at)
    said = f"{reason}: {words.strip()}"[:400] if words.strip() else reason
    VisitStep.objects.create(visit=visit, state=visit.state, at=at, by=by, recorded_at=at, words=said)
    facts = {"reason": reason, "words": words.strip()}
    log.record(visit.firm, "visit cancelled", visit, by=by, at=at, facts=facts)
    return visit


@transaction.atomic
def take_along(
    visit: Visit, *, instruments: Sequence[Instrument], by: Person, at: datetime, anyway: str = ""
) -> Visit:
    """Choose anew which instruments are meant to go along to a planned visit.

    Raises: VisitRefused once the visit has begun or is cancelled; booking.NotBookable where one of them is not
        calibrated through the planned day, and ``anyway`` is empty
    """
    visit = _planned(visit)
    before = _instruments(visit)
    gaps = list(booking.instrument_gaps(visit.planned_on, instruments))
    booking.refuse(gaps, anyway)
    wanted = {one.pk for one in instruments}
    VisitInstrument.objects.filter(visit=visit).exclude(instrument__in=wanted).delete()
    known = {one.pk for one in before}
    VisitInstrument.objects.bulk_create(
        VisitInstrument(visit=visit, instrument=one, recorded_at=at)
        for one in instruments
        if one.pk not in known
    )
    booking.keep(current_day(visit), gaps, anyway, by=by, at=at)
    facts = {
        "was": [str(one.identity) for one in before],
        "is": [str(one.identity) for one in instruments],
        **booking.told(gaps, anyway),
    }
    log.record(visit.firm, "instruments chosen", visit, by=by, at=at, facts=facts)
    return visit


@transaction.atomic
def assign(
    visit: Visit,
    *,
    inspectors: Sequence[Person],
    reason: str,
    by: Person,
    at: datetime,
    words: str = "",
    anyway: str = "",
) -> Visit:
    """Choose anew who goes to a planned visit. Whoever is added sees the site from then on, as when planning.
    Whoever is taken off sees it only until today, unless they go or went there otherwise.

    reason: one of MoveReason; words: needed for OTHER
    Raises: VisitRefused once the visit has begun or is cancelled, for nobody, for the same people, and without a
        reason; booking.NotBookable where one of them is not authorised on the planned day, and ``anyway`` is empty
    """
    visit = _planned(visit)
    _require_reason(reason, words)
    before = _people(visit)
    known, wanted = {one.pk for one in before}, {one.pk for one in inspectors}
    if not wanted:
        raise VisitRefused("Somebody has to go. Choose at least one inspector, or cancel the visit.")
    if wanted == known:
        raise VisitRefused("These inspectors go already. Choose somebody else, or leave it as it is.")
    gaps = list(booking.people_gaps(visit.structure, visit.kind, visit.planned_on, inspectors))
    booking.refuse(gaps, anyway)
    lock_sight([*before, *inspectors], visit.firm)
    VisitPerson.objects.filter(visit=visit).exclude(person__in=wanted).delete()
    added = [one for one in inspectors if one.pk not in known]
    VisitPerson.objects.bulk_create(VisitPerson(visit=visit, person=one, recorded_at=at) for one in added)
    for person in added:
        let_see(person, visit.structure, at)
    for person in before:
        if person.pk not in wanted:
            end_sight(person, visit.structure, at)
    booking.keep(current_day(visit), gaps, anyway, by=by, at=at)
    facts = {
        "was": [str(one.identity) for one in before],
        "is": [str(one.identity) for one in inspectors],
        "reason": reason,
        "words": words.strip(),
        **booking.told(gaps, anyway),
    }
    log.record(visit.firm, "inspectors chosen", visit, by=by, at=at, facts=facts)
    return visit


def lock_sight(people: Sequence[Person], firm: Firm) -> None:
    """Lock what ``let_see`` and ``end_sight`` write below, so that one does not miss what the other does.

    After the visit or the place, before the log's head.
    """
    rows = Membership.objects.filter(person__in=people, firm=firm, role=Role.INSPECTOR)
    list(rows.order_by("pk").select_for_update(of=("self",), no_key=True))


def let_see(person: Person, structure: Structure, at: datetime) -> None:
    """An assignment opens the site to an inspector: as a scope row of the membership, like every other sight.

    Of each membership that has not ended, from its beginning: a role renewed at the year's end goes on seeing it.
    """
    today = at.date()
    for row in _as_inspector(person, structure, today):
        since = max(today, row.since)
        there = row.scopes.filter(by_assignment=True, site=structure.site, since__lte=since, until=None)
        if not there.exists():
            row.scopes.create(site=structure.site, since=since, by_assignment=True, recorded_at=at)


def end_sight(person: Person, structure: Structure, at: datetime) -> None:
    """Where no assignment at the site is left, what assignments opened there closes at the end of today.

    A visit that they carried out is an assignment that stays.
    """
    today, site = at.date(), structure.site
    left = VisitPerson.objects.filter(person=person, visit__structure__site=site)
    if left.exclude(visit__state=VisitState.CANCELLED).exists():
        return
    members = _as_inspector(person, structure, today)
    opened = Scope.objects.not_ended(today).filter(by_assignment=True, site=site, membership__in=members)
    opened.filter(since__gt=today).delete()
    opened.update(until=today)


def _as_inspector(person: Person, structure: Structure, today: date) -> QuerySet[Membership]:
    rows = Membership.objects.not_ended(today)
    return rows.filter(person=person, firm=structure.site.client.firm_id, role=Role.INSPECTOR).order_by("pk")


def current_day(visit: Visit) -> PlannedDay:
    """The row that holds: the one recorded last."""
    return visit.planned_days.order_by("recorded_at", "pk").reverse()[0]


def _planned(visit: Visit) -> Visit:
    fresh = (
        Visit.objects.select_for_update(of=("self",), no_key=True)
        .select_related("firm", "structure__site__client")
        .get(pk=visit.pk)
    )
    if fresh.state != VisitState.PLANNED:
        raise VisitRefused(
            f"Visit {fresh.number} is {fresh.state}; a plan can be changed only until the visit begins. "
            "Somebody may have been quicker: look at the visit again."
        )
    return fresh


def _require_reason(reason: str, words: str) -> None:
    if reason not in MoveReason.values:
        raise VisitRefused(f"Choose the reason: {', '.join(MoveReason.values)}.")
    if reason == MoveReason.OTHER and not words.strip():
        raise VisitRefused("Say what the other reason is.")


def _people(visit: Visit) -> list[Person]:
    rows = visit.inspectors.select_related("person").order_by("pk")
    return [row.person for row in rows]


def _instruments(visit: Visit) -> list[Instrument]:
    rows = visit.instruments.select_related("instrument").order_by("pk")
    return [row.instrument for row in rows]
