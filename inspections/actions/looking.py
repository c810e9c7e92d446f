"""Recording what was looked at: each part of a structure seen or not, with a reason, and corrections of that."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db import transaction

from inspections import looking
from inspections.actions import due
from inspections.actions.findings import record_defect
from inspections.actions.readings import CORRECTED_IN, EntryRefused, open_visit
from inspections.models import DONE, Defect, Look, NotSeen, PartLook, Urgency, Visit
from sites import bulk, log
from sites.models import Part, Person


@dataclass(frozen=True, slots=True)
class NewLook:
    """How looking at one part ended; fields as in ``inspections.models.PartLook``.

    defect: one on record that it concerns; urgency: of one that is to be recorded with it; without either, what is
    wrong is only noted in the words
    at: aware
    """

    part: Part
    outcome: Look
    at: datetime
    reason: NotSeen | None = None
    words: str = ""
    defect: Defect | None = None
    urgency: Urgency | None = None


@transaction.atomic
def record(visit: Visit, entries: Sequence[NewLook], *, by: Person, at: datetime) -> list[PartLook]:
    """Keep what was seen of these parts and what not, a row each; what is due follows when the field work is complete.

    Raises: EntryRefused where the visit is not on site or does not look at parts, a part was answered already or
        belongs elsewhere, or a time is yet to come; FindingRefused where a defect cannot be recorded
    """
    visit = open_visit(visit)
    if not looking.looks(visit):
        raise EntryRefused(f"Parts are not looked at on a visit of this kind: {visit.get_kind_display()}.")
    _refuse_elsewhere(visit, entries, at)
    _refuse_answered(visit, entries)
    rows = [_row(visit, entry, _defect(visit, entry, by, at), by, at) for entry in entries]
    bulk.insert(PartLook, rows)
    facts = {"parts": len(rows), "entries": [f"{row.part.identity}: {row.in_words}" for row in rows]}
    log.record(visit.firm, "parts looked at", visit, by=by, at=at, facts=facts)
    return rows


@transaction.atomic
def correct(look: PartLook, entry: NewLook, *, reason: str, by: Person, at: datetime) -> PartLook:
    """A correcting row: the one it replaces stays as it was and counts no more; what is due follows.

    A defect recorded with the replaced row stays; it is withdrawn on its own page.
    Raises: EntryRefused without a reason, for another part, or where it is corrected already
    """
    visit = open_visit(look.visit, states=CORRECTED_IN)
    if not reason.strip():
        raise EntryRefused("Say why it is corrected.")
    if entry.part.pk != look.part_id:
        raise EntryRefused("A correction concerns the same part. Answer the other part on its own.")
    if not PartLook.objects.standing().filter(pk=look.pk).exists():
        raise EntryRefused("This was corrected already. Correct the answer that stands.")
    _refuse_elsewhere(visit, [entry], at)
    row = _row(visit, entry, _defect(visit, entry, by, at), by, at)
    row.replaces, row.correction = look, reason.strip()
    row.save(force_insert=True)
    if visit.state in DONE:
        due.refresh([visit.structure_id], at=at)
    facts = {
        "part": str(row.part.identity), "was": look.in_words, "is": row.in_words, "reason": row.correction,
    }  # fmt: skip
    log.record(visit.firm, "part corrected", visit, by=by, at=at, facts=facts)
    return row


def _refuse_elsewhere(visit: Visit, entries: Sequence[NewLook], at: datetime) -> None:
    """Refuse what cannot be: a part of another structure, or one that did not stand yet; a time; a missing word."""
    zone = ZoneInfo(visit.structure.site.time_zone)
    day = (visit.on_site_until or at).astimezone(zone).date()
    parts = looking.parts_standing(visit.structure_id, day)
    there = set(parts.filter(pk__in=[entry.part.pk for entry in entries]).values_list("pk", flat=True))
    for entry in entries:
        if entry.part.pk not in there:
            raise EntryRefused(f"{entry.part.name} is no part of {visit.structure} on the day of the visit.")
        if entry.at > at:
            raise EntryRefused(f"{entry.part.name}: that time lies in the future. Enter when it really was.")
        if (entry.outcome == Look.NOT_SEEN) != (entry.reason is not None):
            raise EntryRefused(f"{entry.part.name}: say why it was not seen, or that it was seen.")
        if entry.outcome == Look.DEFECT and not (entry.words.strip() or entry.defect):
            raise EntryRefused(f"{entry.part.name}: say what is wrong with it.")
        if entry.defect is not None and entry.defect.structure_id != visit.structure_id:
            raise EntryRefused(f"{entry.part.name}: that defect is of another structure.")


def _refuse_answered(visit: Visit, entries: Sequence[NewLook]) -> None:
    answered = set(PartLook.objects.filter(visit=visit).values_list("part_id", flat=True))
    for entry in entries:
        if entry.part.pk in answered:
            raise EntryRefused(
                f"{entry.part.name} has been answered at visit {visit.number} already. Correct that answer instead."
            )
        answered.add(entry.part.pk)


def _defect(visit: Visit, entry: NewLook, by: Person, at: datetime) -> Defect | None:
    if entry.outcome != Look.DEFECT or entry.urgency is None:
        return entry.defect if entry.outcome == Look.DEFECT else None
    place = f"{entry.part.get_kind_display().capitalize()}: {entry.part.name}"
    return record_defect(
        visit, place=place, words=entry.words, urgency=entry.urgency, found_at=entry.at, by=by, at=at
    )


def _row(visit: Visit, entry: NewLook, defect: Defect | None, by: Person, at: datetime) -> PartLook:
    return PartLook(
        visit=visit, part=entry.part, outcome=entry.outcome, reason=entry.reason or "", words=entry.words.strip(),
        defect=defect, at=entry.at, by=by, recorded_at=at,
    )  # fmt: skip
