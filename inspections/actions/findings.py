"""Defects found, events reported, structures suspended."""

from datetime import date, datetime

from django.db import transaction
from django.db.models import Q

from inspections.actions import due
from inspections.models import (
    Defect,
    DefectStepKind,
    Event,
    Suspension,
    Urgency,
    UrgencyScheme,
    Visit,
    VisitState,
)
from sites import log
from sites.actions.register import shown
from sites.models import Firm, Person, Structure, TestPoint


class FindingRefused(Exception):
    """A finding that the record cannot take, with the sentence for the person who made it."""


@transaction.atomic
def record_defect(
    visit: Visit,
    *,
    place: str,
    words: str,
    urgency: Urgency,
    found_at: datetime,
    by: Person,
    at: datetime,
    point: TestPoint | None = None,
) -> Defect:
    """Keep what was found wrong, while the visit is on site.

    Raises: FindingRefused without place or words, for another structure's point, for a time yet to come, or where the
        visit has the same on record already
    """
    visit = (
        Visit.objects.select_for_update(of=("self",), no_key=True)
        .select_related("firm", "structure")
        .get(pk=visit.pk)
    )
    if visit.state != VisitState.ON_SITE:
        raise FindingRefused(
            f"Visit {visit.number} is {visit.state}. Defects are recorded while it is on site; ask the reviewing "
            "engineer to send it back."
        )
    if found_at > at:
        raise FindingRefused("That time lies in the future. Enter when it really was found.")
    if not place.strip() or not words.strip():
        raise FindingRefused("Say where the defect is and what is wrong.")
    if point is not None and point.structure_id != visit.structure_id:
        raise FindingRefused("That point belongs to another structure.")
    if urgency.scheme.firm_id != visit.firm_id:
        raise FindingRefused("That urgency belongs to a scheme of another firm.")
    told = {"point": point, "place": place.strip(), "words": words.strip()}
    if visit.defects.filter(**told).exclude(steps__kind=DefectStepKind.WITHDRAWN).exists():
        raise FindingRefused(
            "This visit has that defect on record already, at the same place in the same words. Where it is another "
            "one, say where it is or what is different."
        )
    defect = Defect.objects.create(
        structure=visit.structure, visit=visit, **told, urgency=urgency, found_at=found_at, by=by, recorded_at=at,
    )  # fmt: skip
    facts = {
        "place": defect.place,
        "words": defect.words,
        "urgency": urgency.word,
        "visit": str(visit.identity),
    }
    log.record(visit.firm, "defect recorded", defect, by=by, at=at, facts=facts)
    return defect


@transaction.atomic
def adopt_urgencies(
    firm: Firm, *, name: str, source: str, urgencies: list[tuple[str, str]], by: Person, at: datetime
) -> UrgencyScheme:
    """Take a scheme of urgencies into use. urgencies: (word, meaning), the most urgent first"""
    scheme = UrgencyScheme.objects.create(firm=firm, name=name, source=source, recorded_at=at)
    Urgency.objects.bulk_create(
        [
            Urgency(scheme=scheme, rank=rank, word=word, meaning=meaning, recorded_at=at)
            for rank, (word, meaning) in enumerate(urgencies, start=1)
        ]
    )
    facts = {"name": name, "source": source, "urgencies": [list(pair) for pair in urgencies]}
    log.record(firm, "urgency scheme adopted", scheme, by=by, at=at, facts=facts)
    return scheme


@transaction.atomic
def report_event(
    structure: Structure,
    *,
    kind: str,
    on: date,
    inspect_within_days: int,
    reported_by: str,
    by: Person,
    at: datetime,
    words: str = "",
    days_by: str = "",
) -> Event:
    """Something happened that calls for an inspection; a late report is overdue from its first day.

    days_by: whose number of days it is, by which source
    """
    event = Event.objects.create(
        structure=structure, kind=kind, on=on, inspect_within_days=inspect_within_days,
        reported_by=reported_by, words=words, days_by=days_by, by=by, recorded_at=at,
    )  # fmt: skip
    due.refresh([structure.pk], at=at)
    facts = {"kind": kind, "on": on.isoformat(), "within days": inspect_within_days, "words": words}
    if days_by:
        facts["days by"] = days_by
    log.record(structure.site.client.firm, "event reported", event, by=by, at=at, facts=facts)
    return event


@transaction.atomic
def suspend(
    structure: Structure,
    *,
    since: date,
    until: date | None,
    authority: str,
    by: Person,
    at: datetime,
    return_inspection: bool = True,
) -> Suspension:
    """Take a structure out of use on somebody's authority. Days overdue before it stay overdue.

    Of two for the same days a return would end but one, and the due dates would rest on.
    Raises: FindingRefused without an authority, or for days that another suspension covers
    """
    Structure.objects.select_for_update(no_key=True).get(pk=structure.pk)
    if not authority.strip():
        raise FindingRefused("Say on whose authority the structure is out of use.")
    rows = Suspension.objects.with_end().filter(structure=structure)
    rows = rows.filter(Q(ends_on__isnull=True) | Q(ends_on__gte=since))
    if until is not None:
        rows = rows.filter(since__lte=until)
    if other := rows.order_by("since", "pk").first():
        last = f"to {shown(other.ends_on)}" if other.ends_on else "until further notice"
        raise FindingRefused(
            f"It is on record as out of use already, from {shown(other.since)} {last}: {other.authority}. Where its "
            "last day is another one, say so by “Return to use”; else give days outside of these."
        )
    suspension = Suspension.objects.create(
        structure=structure, since=since, until=until, authority=authority.strip(),
        return_inspection=return_inspection, recorded_at=at,
    )  # fmt: skip
    due.refresh([structure.pk], at=at)
    facts = {
        "since": since.isoformat(),
        "until": until.isoformat() if until else None,
        "authority": suspension.authority,
    }
    log.record(structure.site.client.firm, "structure suspended", suspension, by=by, at=at, facts=facts)
    return suspension
