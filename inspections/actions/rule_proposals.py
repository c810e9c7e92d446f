"""Proposing an edition of a rule, and deciding whether it may be adopted. Neither changes what is due."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from inspections.actions import due
from inspections.actions.rules import (
    CODE_TAKEN,
    Rule,
    RuleRefused,
    is_code_taken,
    lengthens,
    require_reason_to_change,
    require_somebody_else,
)
from inspections.models import Decision, IntervalRule, LimitRule, Proposal
from sites import log
from sites.locks import lock_firm
from sites.models import Person


@transaction.atomic
def propose(edition: Rule, *, by: Person, at: datetime, words: str = "") -> Rule:
    """Keep an edition (not yet saved) as proposed. words: why; needed where it changes an interval.

    Raises: RuleRefused where it is on record already, its code names a rule of another place, it contradicts itself,
    or its reason is none
    """
    lock_firm(edition.firm_id)
    if is_code_taken(edition):
        raise RuleRefused(CODE_TAKEN)
    model = type(edition)
    if model._default_manager.filter(
        firm=edition.firm_id, code=edition.code, edition=edition.edition
    ).exists():
        raise RuleRefused(
            f"“{edition.code}”, {edition.edition}, is on record already. What changes is a new edition; name it so."
        )
    edition.recorded_at = at
    _require_sound(edition)
    require_reason_to_change(edition, words)
    edition.save(force_insert=True)
    Proposal.objects.create(**_one(edition), words=words.strip(), by=by, recorded_at=at)
    facts = {
        "rule": edition.code,
        "edition": edition.edition,
        "words": words.strip(),
        "states": stated(edition),
    }
    log.record(edition.firm, "rule proposed", edition.firm, by=by, at=at, facts=facts)
    return edition


@transaction.atomic
def decide(edition: Rule, *, approved: bool, by: Person, at: datetime, words: str = "") -> Decision:
    """Approve a proposed edition, so that it may be adopted, or refuse it and say why. Raises: RuleRefused"""
    lock_firm(edition.firm_id)
    if getattr(edition, "proposal", None) is None:
        raise RuleRefused("This edition came with a file and was not proposed: it may be adopted as it is.")
    if Decision.objects.filter(**_one(edition)).exists():
        raise RuleRefused("This edition has been decided upon already.")
    if approved and lengthens(edition):
        require_somebody_else(edition, by, at)
    if not approved and not words.strip():
        raise RuleRefused("Say why it is not approved: whoever proposed it wants to know.")
    decision = Decision.objects.create(
        **_one(edition), approved=approved, words=words.strip(), by=by, recorded_at=at
    )
    facts = {"rule": edition.code, "edition": edition.edition, "words": words.strip()}
    action = "rule approved" if approved else "rule not approved"
    log.record(edition.firm, action, edition.firm, by=by, at=at, facts=facts)
    return decision


def stated(edition: Rule) -> dict[str, str | bool | int | None]:
    """What an edition states, as the log keeps it: text for everything but yes, no and nothing."""
    found: dict[str, str | bool | int | None] = {}
    for field in edition._meta.concrete_fields:
        if field.generated or field.name in ("id", "firm", "recorded_at"):
            continue
        value = getattr(edition, field.attname)
        found[field.name] = value if value is None or isinstance(value, bool) else str(value)
    return found


def _require_sound(edition: Rule) -> None:
    try:
        edition.full_clean(exclude=["recorded_at"])
        if isinstance(edition, IntervalRule):
            due.counted(edition)
    except ValidationError as fault:
        raise RuleRefused(" ".join(fault.messages)) from fault
    except ValueError as fault:
        raise RuleRefused(str(fault)) from fault


def _one(edition: Rule) -> dict[str, Rule]:
    return {"limit" if isinstance(edition, LimitRule) else "interval": edition}
