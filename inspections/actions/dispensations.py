"""More time given by a rule's own author, the only way past a stricter rule; and taking that back."""

from datetime import date, datetime

from django.db import transaction

from inspections.actions import due
from inspections.actions.rules import RuleRefused, concerned
from inspections.local_days import days_in_force
from inspections.models import Dispensation, DispensationWithdrawal, IntervalRule
from sites import log
from sites.actions.register import shown
from sites.locks import lock_firm
from sites.models import Client, Person, Site, Structure
from sites.reach import too_long


@transaction.atomic
def dispense(
    rule: IntervalRule,
    *,
    until: date,
    document: str,
    given_by: str,
    given_on: date,
    by: Person,
    at: datetime,
    client: Client | None = None,
    site: Site | None = None,
    structure: Structure | None = None,
    words: str = "",
) -> Dispensation:
    """Record what the rule's author allows: not overdue up to ``until``, that day included.

    client, site, structure: at most one; none of them where it holds wherever the rule stands
    The due day stays what it is; only the consequence moves. Raises: RuleRefused
    """
    lock_firm(rule.firm_id)
    if not document.strip() or not given_by.strip():
        raise RuleRefused(
            f"Name the document in which {rule.author_name} allows it, and who signed it. Without them nobody may "
            "rely on it."
        )
    place = structure.site if structure else site
    if given_on > (place.day_at(at) if place else days_in_force(at)[-1]):
        raise RuleRefused("The day it was given lies in the future. Record it once it has been given.")
    if until < given_on:
        raise RuleRefused("It ends before it was given. Check both days.")
    if fault := too_long(given_on, until):
        raise RuleRefused(fault)
    if sum(place is not None for place in (client, site, structure)) > 1:
        raise RuleRefused("Name a client, a site or a structure, the narrowest that it holds for.")
    row = Dispensation(
        interval=rule, client=client, site=site, structure=structure, until=until, document=document.strip(),
        given_by=given_by.strip(), given_on=given_on, words=words.strip(), by=by, recorded_at=at,
    )  # fmt: skip
    same = Dispensation.objects.standing().filter(
        interval=rule, client=client, site=site, structure=structure, until=until, document=row.document
    )
    if before := same.select_related("by").first():
        # Of two, taking back one would leave the other to hold.
        raise RuleRefused(
            f"That is on record already: {before.document} allows it until {shown(until)}, recorded by {before.by}."
        )
    there = reached(row)
    if not there:
        raise RuleRefused("The rule stands on nothing there. Check the place.")
    row.save(force_insert=True)
    due.refresh(there, at=at)
    facts = {
        "rule": rule.code, "edition": rule.edition, "until": until.isoformat(), "document": row.document,
        "given by": row.given_by, "given on": given_on.isoformat(), "words": row.words,
        "where": str((structure or site or client or rule.firm).identity),
    }  # fmt: skip
    log.record(rule.firm, "dispensation recorded", row, by=by, at=at, facts=facts)
    return row


@transaction.atomic
def withdraw(row: Dispensation, *, words: str, by: Person, at: datetime) -> DispensationWithdrawal:
    """It counts no more from now on: its author took it back, or it was recorded in error. Raises: RuleRefused"""
    lock_firm(row.interval.firm_id)
    if not words.strip():
        raise RuleRefused("Say why the dispensation counts no more.")
    if DispensationWithdrawal.objects.filter(dispensation=row).exists():
        raise RuleRefused("This dispensation was withdrawn already.")
    withdrawal = DispensationWithdrawal.objects.create(
        dispensation=row, words=words.strip(), by=by, recorded_at=at
    )
    due.refresh(reached(row), at=at)
    facts = {"rule": row.interval.code, "document": row.document, "words": withdrawal.words}
    log.record(row.interval.firm, "dispensation withdrawn", row, by=by, at=at, facts=facts)
    return withdrawal


def reached(row: Dispensation) -> list[int]:
    """Ids of the structures at which the rule may stand and the dispensation holds."""
    found = Structure.objects.filter(pk__in=concerned(row.interval))
    if row.structure_id:
        found = found.filter(pk=row.structure_id)
    if row.site_id:
        found = found.filter(site=row.site_id)
    if row.client_id:
        found = found.filter(site__client=row.client_id)
    return list(found.order_by("pk").values_list("pk", flat=True))
