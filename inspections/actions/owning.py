"""What those who answer for a structure say of it: something changed, it is out of use or back, please come then."""

from datetime import date, datetime

from django.db import transaction

from inspections.actions import due
from inspections.actions.findings import FindingRefused, report_event
from inspections.allowances import allowed_after
from inspections.models import (
    AllowanceAdoption,
    Author,
    Event,
    EventAllowance,
    EventKind,
    EventWithdrawal,
    SourceStatus,
    Suspension,
    SuspensionEnd,
    Wish,
)
from sites import log
from sites.actions.register import shown
from sites.models import Firm, Person, Structure


@transaction.atomic
def report(
    structure: Structure, *, kind: str, on: date, reported_by: str, words: str, by: Person, at: datetime
) -> Event:
    """Something changed: an inspection is due within the days that the adopted allowance gives.

    reported_by: who says so, in words; by: who enters it
    Raises: FindingRefused for a day to come, without words or a name, or where the same is on record already
    """
    Structure.objects.select_for_update(no_key=True).get(pk=structure.pk)
    today = _today(structure, at)
    if on > today:
        raise FindingRefused("That day lies in the future. Enter it when it has happened.")
    if not words.strip() or not reported_by.strip():
        raise FindingRefused("Say what happened, and who reports it.")
    same = Event.objects.standing().filter(structure=structure, kind=kind, on=on, words=words.strip()).first()
    if same is not None:
        raise FindingRefused(
            f"That is on record already, reported by {same.reported_by}. Where another one happened on that day, "
            "say in words what was different."
        )
    allowed = allowed_after(structure, kind, on)
    return report_event(
        structure, kind=kind, on=on, inspect_within_days=allowed.days, reported_by=reported_by.strip(),
        words=words.strip(), days_by=allowed.by, by=by, at=at,
    )  # fmt: skip


@transaction.atomic
def withdraw_event(event: Event, *, words: str, by: Person, at: datetime) -> EventWithdrawal:
    """It was reported in error and asks for nothing from now on; both stay on record.

    Raises: FindingRefused without words, or where it is withdrawn already
    """
    structure = Structure.objects.select_for_update(of=("self",), no_key=True).get(pk=event.structure_id)
    if not words.strip():
        raise FindingRefused("Say why it was no such event.")
    if EventWithdrawal.objects.filter(event=event).exists():
        raise FindingRefused("This event is withdrawn already.")
    withdrawal = EventWithdrawal.objects.create(event=event, words=words.strip(), by=by, recorded_at=at)
    due.refresh([structure.pk], at=at)
    facts = {"kind": event.kind, "on": event.on.isoformat(), "words": withdrawal.words}
    log.record(structure.site.client.firm, "event withdrawn", event, by=by, at=at, facts=facts)
    return withdrawal


@transaction.atomic
def return_to_use(
    suspension: Suspension, *, last_day: date, authority: str, by: Person, at: datetime
) -> SuspensionEnd:
    """A suspension ends: the last day out of use, on somebody's authority. What was overdue before it stays so.

    Raises: FindingRefused for a day before it began, or without an authority
    """
    structure = Structure.objects.select_for_update(of=("self",), no_key=True).get(pk=suspension.structure_id)
    if last_day < suspension.since:
        raise FindingRefused(
            f"It is out of use since {shown(suspension.since)}. Give that day or a later one."
        )
    if not authority.strip():
        raise FindingRefused("Say on whose authority it returns to use.")
    end = SuspensionEnd.objects.create(
        suspension=suspension, last_day=last_day, authority=authority.strip(), by=by, recorded_at=at
    )
    due.refresh([structure.pk], at=at)
    facts = {"last day": last_day.isoformat(), "authority": end.authority}
    log.record(structure.site.client.firm, "suspension ended", suspension, by=by, at=at, facts=facts)
    return end


@transaction.atomic
def wish(
    structure: Structure, *, from_day: date, until_day: date, words: str, by: Person, at: datetime
) -> Wish:
    """Days on which a visit would be welcome. Raises: FindingRefused for days that are over, or in the wrong order"""
    if until_day < from_day:
        raise FindingRefused("The last day lies before the first. Check the two.")
    if until_day < _today(structure, at):
        raise FindingRefused("Those days are over. Give days to come.")
    Structure.objects.select_for_update(no_key=True).get(pk=structure.pk)
    told = {"from_day": from_day, "until_day": until_day, "words": words.strip()}
    if same := Wish.objects.filter(structure=structure, **told).select_related("by").first():
        raise FindingRefused(f"These days are wished for already, by {same.by}. The planner sees them.")
    row = Wish.objects.create(
        structure=structure,
        from_day=from_day,
        until_day=until_day,
        words=words.strip(),
        by=by,
        recorded_at=at,
    )
    facts = {"from": from_day.isoformat(), "until": until_day.isoformat(), "words": row.words}
    log.record(structure.site.client.firm, "dates wished for", row, by=by, at=at, facts=facts)
    return row


@transaction.atomic
def adopt_allowance(
    firm: Firm,
    *,
    kind: str,
    within_days: int,
    author: str,
    author_name: str,
    source: str,
    edition: str,
    status: str,
    adopted_from: date,
    by: Person,
    at: datetime,
) -> EventAllowance:
    """The firm takes a number of days after one kind of event into use. Events reported before keep theirs.

    Raises: FindingRefused for an edition that is on record already
    """
    words = EventKind(kind).label
    code = f"after {words}, {author_name}"[:60]
    if EventAllowance.objects.filter(firm=firm, code=code, edition=edition).exists():
        raise FindingRefused(
            "This author's edition is on record already. What changes is a new edition; name it so."
        )
    row = EventAllowance.objects.create(
        firm=firm, code=code, title=f"Inspection after {words}", author=Author(author), author_name=author_name,
        source=source, edition=edition, status=SourceStatus(status), kind=kind, within_days=within_days,
        recorded_at=at,
    )  # fmt: skip
    AllowanceAdoption.objects.create(allowance=row, adopted_from=adopted_from, by=by, recorded_at=at)
    facts = {
        "kind": kind,
        "within days": within_days,
        "by": f"{author_name}: {source}, {edition}",
        "from": adopted_from.isoformat(),
    }
    log.record(firm, "days after an event adopted", firm, by=by, at=at, facts=facts)
    return row


def _today(structure: Structure, at: datetime) -> date:
    return structure.site.day_at(at)
