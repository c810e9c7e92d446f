"""A visit's life: planned, on site, field complete, in review, approved, issued; amended: `amending.py`."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from inspections import coverage, looking
from inspections.actions import booking, due
from inspections.actions.booking import VisitRefused
from inspections.actions.planning import let_see, lock_sight
from inspections.models import (
    NOT_TAKEN,
    Defect,
    DefectStep,
    DefectStepKind,
    Instrument,
    PlannedDay,
    Visit,
    VisitInstrument,
    VisitPerson,
    VisitPoint,
    VisitState,
    VisitStep,
)
from sites import log
from sites.models import Person, Site, Structure, TestPoint

CONDITIONS = ("weather", "rain_last_7_days", "soil", "air_temperature")


class VisitNotReady(VisitRefused):
    """The visit cannot be completed yet. ``missing`` says what is missing, a sentence each."""

    def __init__(self, missing: Sequence[str]) -> None:
        self.missing = tuple(missing)
        super().__init__(" ".join(missing))


@dataclass(frozen=True, slots=True)
class Conditions:
    """Under what conditions was measured; each in words, or "not taken"."""

    weather: str = NOT_TAKEN
    rain_last_7_days: str = NOT_TAKEN
    soil: str = NOT_TAKEN
    air_temperature: str = NOT_TAKEN


@transaction.atomic
def plan(
    structure: Structure,
    *,
    kind: str,
    purpose: str,
    planned_on: date,
    inspectors: Sequence[Person],
    by: Person,
    at: datetime,
    points: Iterable[TestPoint] = (),
    scope: str = "",
    instruments: Sequence[Instrument] = (),
    anyway: str = "",
) -> Visit:
    """Plan a visit and assign its inspectors, who from then on see the site.

    points: the points to be read, where not all of the structure's
    instruments: those that are meant to go along
    anyway: why it is booked although somebody or something does not fit that day
    Raises: booking.NotBookable (a VisitRefused) where an inspector is not authorised for the systems and this kind
        of visit on that day, or an instrument is not calibrated through it, and ``anyway`` is empty
    """
    firm = structure.site.client.firm
    gaps = booking.gaps(structure, kind, planned_on, inspectors=inspectors, instruments=instruments)
    booking.refuse(gaps, anyway)
    # Whoever renames the site or the structure keeps them from being referred to until the log's head is theirs. They
    # are waited for here, before the head is ours; the site first, as they do.
    Site.objects.select_for_update(no_key=True).get(pk=structure.site_id)
    Structure.objects.select_for_update(no_key=True).get(pk=structure.pk)
    lock_sight(inspectors, firm)
    head = log.locked_head(firm)
    head.visits += 1
    head.save(update_fields=["visits"])
    visit = Visit.objects.create(
        firm=firm, structure=structure, number=head.visits, kind=kind, purpose=purpose, planned_on=planned_on,
        scope=scope, recorded_at=at,
    )  # fmt: skip
    VisitPerson.objects.bulk_create(
        [VisitPerson(visit=visit, person=person, recorded_at=at) for person in inspectors]
    )
    VisitPoint.objects.bulk_create([VisitPoint(visit=visit, point=point, recorded_at=at) for point in points])
    VisitInstrument.objects.bulk_create(
        [VisitInstrument(visit=visit, instrument=one, recorded_at=at) for one in instruments]
    )
    day = PlannedDay.objects.create(visit=visit, planned_on=planned_on, by=by, recorded_at=at)
    booking.keep(day, gaps, anyway, by=by, at=at)
    for person in inspectors:
        let_see(person, structure, at)
    facts = {
        "structure": str(structure.identity),
        "kind": kind,
        "planned on": planned_on.isoformat(),
        "inspectors": [str(person.identity) for person in inspectors],
        "instruments": [str(one.identity) for one in instruments],
        **booking.told(gaps, anyway),
    }
    _step(visit, VisitState.PLANNED, at=at, by=by, recorded_at=at)
    log.record(firm, "visit planned", visit, by=by, at=at, facts=facts)
    return visit


def require_authorised(person: Person, structure: Structure, kind: str, day: date) -> None:
    """Refuse a person who holds no authorisation for one of the structure's systems at this kind of visit.

    Raises: VisitRefused naming the first that is missing
    """
    for gap in booking.people_gaps(structure, kind, day, [person]):
        raise VisitRefused(gap)


@transaction.atomic
def start(visit: Visit, *, arrived_at: datetime, by: Person, at: datetime) -> Visit:
    """The inspector is on site: readings can be entered. Raises: VisitRefused unless the visit is planned"""
    visit = locked(visit, VisitState.PLANNED)
    _refuse_future(arrived_at, at)
    visit.on_site_from = arrived_at
    visit.state = VisitState.ON_SITE
    visit.save(update_fields=["on_site_from", "state"])
    return _logged(visit, "visit begun", by=by, at=at, so_at=arrived_at)


@transaction.atomic
def note_conditions(visit: Visit, conditions: Conditions, *, by: Person, at: datetime) -> Visit:
    """Keep the conditions of measuring. Raises: VisitRefused for a blank: what was not taken is named so"""
    visit = locked(visit, VisitState.ON_SITE)
    told = {name: getattr(conditions, name).strip() for name in CONDITIONS}
    for name, words in told.items():
        if not words:
            raise VisitRefused(f"Say what the {name.replace('_', ' ')} was, or that it was “{NOT_TAKEN}”.")
        setattr(visit, name, words)
    visit.save(update_fields=list(told))
    log.record(visit.firm, "conditions noted", visit, by=by, at=at, facts=told)
    return visit


@transaction.atomic
def complete_field_work(
    visit: Visit,
    *,
    left_at: datetime,
    by: Person,
    at: datetime,
    escort: str = "",
    agreed_limitations: str = "",
) -> Visit:
    """The inspector has left, every point has its reading or its reason, and every part was seen or says why not.

    Raises: VisitNotReady naming what is missing; VisitRefused in another state or for a time that cannot be
    """
    visit = locked(visit, VisitState.ON_SITE)
    _refuse_future(left_at, at)
    if visit.on_site_from is None or left_at < visit.on_site_from:
        raise VisitRefused("The visit cannot end before it began. Check the two times.")
    zone = ZoneInfo(visit.structure.site.time_zone)
    missing = list(what_is_missing(visit, left_at.astimezone(zone).date()))
    if missing:
        raise VisitNotReady(missing)
    visit.on_site_until, visit.state = left_at, VisitState.FIELD_COMPLETE
    visit.escort, visit.agreed_limitations = escort, agreed_limitations
    visit.save(update_fields=["on_site_until", "state", "escort", "agreed_limitations"])
    due.refresh([visit.structure_id], at=at)
    return _logged(visit, "field work complete", by=by, at=at, so_at=left_at)


def what_is_missing(visit: Visit, day: date) -> Iterable[str]:
    """What keeps a visit from being complete on that day, a sentence each."""
    blank = coverage.points_without_outcome(visit, day)
    numbers = list(blank.values_list("number", flat=True)[:12])
    if numbers:
        more = blank.count() - len(numbers)
        tail = f" and {more} more" if more else ""
        yield (
            f"Points without a reading or a reason: {', '.join(numbers)}{tail}. "
            "Enter the reading, or say why there is none."
        )
    unanswered = looking.parts_unanswered(visit, day)
    names = list(unanswered.order_by("name", "pk").values_list("name", flat=True)[:12])
    if names:
        more = unanswered.count() - len(names)
        tail = f" and {more} more" if more else ""
        yield (
            f"Parts not answered: {', '.join(names)}{tail}. Say of each whether it was seen; if not, say why."
        )
    for name in CONDITIONS:
        if not getattr(visit, name):
            yield f"The {name.replace('_', ' ')} is blank. Write what it was, or “{NOT_TAKEN}”."
    for defect in untold_dangers(visit):
        yield (
            f"The defect “{defect.words}”, {defect.place}, is “{defect.urgency.word}”. "
            "Say who was told of it, when and how, before anybody leaves."
        )


def untold_dangers(visit: Visit) -> Iterable[Defect]:
    """Defects of the most urgent kind, found or seen again at the visit, and told to nobody; not the withdrawn."""
    here = Q(visit=visit) | Q(steps__visit=visit, steps__kind=DefectStepKind.SEEN_AGAIN)
    told_or_gone = DefectStep.objects.filter(
        defect=OuterRef("pk"), kind__in=(DefectStepKind.TOLD, DefectStepKind.WITHDRAWN)
    )
    rows = Defect.objects.filter(here, ~Exists(told_or_gone), urgency__rank=1).distinct()
    return rows.select_related("urgency").order_by("found_at", "pk")


@transaction.atomic
def hand_in(visit: Visit, *, by: Person, at: datetime, words: str = "") -> Visit:
    """Pass a complete visit to the reviewing engineer. Raises: VisitRefused in another state"""
    sources = (VisitState.FIELD_COMPLETE,)
    return move(visit, sources, VisitState.IN_REVIEW, "visit handed in", by=by, at=at, words=words)


@transaction.atomic
def approve(visit: Visit, *, by: Person, at: datetime, words: str = "") -> Visit:
    """The reviewing engineer has looked at everything; the signatory may issue. Raises: VisitRefused"""
    sources = (VisitState.IN_REVIEW, VisitState.AMENDING)
    return move(visit, sources, VisitState.APPROVED, "visit approved", by=by, at=at, words=words)


@transaction.atomic
def send_back(visit: Visit, *, by: Person, at: datetime, words: str) -> Visit:
    """The reviewing engineer asks the inspector to go on. Raises: VisitRefused without words or in another state"""
    if not words.strip():
        raise VisitRefused("Say what is to be done before the visit comes back.")
    sources = (VisitState.IN_REVIEW,)
    visit = move(visit, sources, VisitState.ON_SITE, "visit sent back", by=by, at=at, words=words)
    due.refresh([visit.structure_id], at=at)
    return visit


def mark_issued(visit: Visit, *, by: Person, at: datetime) -> None:
    """The last state; called within the transaction that issues the report."""
    visit.state = VisitState.ISSUED
    visit.save(update_fields=["state"])
    _step(visit, VisitState.ISSUED, at=at, by=by, recorded_at=at)


def move(
    visit: Visit, sources: Sequence[str], target: str, action: str, *, by: Person, at: datetime, words: str
) -> Visit:
    """From one of the states into the next, with its step and log entry; within the caller's transaction.

    Raises: VisitRefused in another state
    """
    visit = locked(visit, *sources)
    visit.state = target
    visit.save(update_fields=["state"])
    return _logged(visit, action, by=by, at=at, so_at=at, words=words.strip())


def locked(visit: Visit, *states: str) -> Visit:
    """The visit, read again and locked, if it is in one of the states. Raises: VisitRefused"""
    fresh = (
        Visit.objects.select_for_update(of=("self",), no_key=True)
        .select_related("firm", "structure__site__client")
        .get(pk=visit.pk)
    )
    if fresh.state not in states:
        raise VisitRefused(
            f"Visit {fresh.number} is {fresh.state}; this can be done only while it is {' or '.join(states)}. "
            "Somebody may have been quicker: look at the visit again."
        )
    return fresh


def _refuse_future(so_at: datetime, at: datetime) -> None:
    if so_at > at:
        raise VisitRefused("That time lies in the future. Enter when it really was.")


def _step(
    visit: Visit, state: str, *, at: datetime, by: Person, recorded_at: datetime, words: str = ""
) -> None:
    VisitStep.objects.create(visit=visit, state=state, at=at, by=by, recorded_at=recorded_at, words=words)


def _logged(
    visit: Visit, action: str, *, by: Person, at: datetime, so_at: datetime, words: str = ""
) -> Visit:
    _step(visit, visit.state, at=so_at, by=by, recorded_at=at, words=words)
    facts = {"state": visit.state, "at": log.instant_text(so_at), "words": words}
    log.record(visit.firm, action, visit, by=by, at=at, facts=facts)
    return visit
