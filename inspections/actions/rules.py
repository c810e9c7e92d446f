"""Taking a rule's edition into use, and ending its use."""

from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from inspections.actions import due
from inspections.models import Adoption, IntervalRule, LimitRule
from inspections.rules.interval_change import changes, longer, names_only_want_of_means
from sites import log
from sites.access import CHANGE_RULES, MAY
from sites.actions.register import shown
from sites.locks import lock_firm
from sites.models import Firm, ImportedFile, ImportKind, Membership, Person, Structure

Rule = LimitRule | IntervalRule

# Whoever is told this may not see where the code stands, so it does not say.
CODE_TAKEN = "This code is taken in this firm’s rules. Choose another."


class RuleRefused(Exception):
    """Something that cannot be done with a rule, with the sentence for the person who tried."""


@transaction.atomic
def adopt(
    edition: Rule,
    *,
    adopted_from: date,
    by: Person,
    at: datetime,
    adopted_until: date | None = None,
    words: str = "",
    take_over: bool = False,
) -> Adoption:
    """Adopt an edition from a day (until a day, both included), or say anew until when it holds.

    words: why; needed where an interval changes that nobody approved before
    take_over: the editions of the same rule that apply by then end on the day before
    Verdicts stored before stay as they were; due dates are reckoned again for the structures it may concern.
    Raises: RuleRefused
    """
    lock_firm(edition.firm_id)
    _require_approved(edition)
    _require_reason_to_adopt(edition, words, by, at)
    _require_past_kept(edition, adopted_from, at)
    ended = _end_others(edition, adopted_from, by, at) if take_over else {}
    adoption = Adoption.objects.create(
        **_of(edition), adopted_from=adopted_from, adopted_until=adopted_until, words=words.strip(), by=by,
        recorded_at=at,
    )  # fmt: skip
    _refresh(edition, at)
    facts: dict[str, Any] = {
        "rule": edition.code,
        "edition": edition.edition,
        "from": adopted_from.isoformat(),
        "until": adopted_until.isoformat() if adopted_until else None,
    }
    if ended:
        facts["ended"] = ended
    if words.strip():
        facts["words"] = words.strip()
    log.record(edition.firm, "rule adopted", edition.firm, by=by, at=at, facts=facts)
    return adoption


@transaction.atomic
def end(edition: Rule, *, last_day: date, words: str, by: Person, at: datetime) -> Adoption:
    """The edition asks up to a last day, which may be today, and no longer. Raises: RuleRefused"""
    lock_firm(edition.firm_id)
    since = require_last_day(edition, last_day, at)
    require_reason(words, "Say why the rule ends.")
    adoption = Adoption.objects.create(
        **_of(edition), adopted_from=since, adopted_until=last_day, words=words.strip(), by=by, recorded_at=at
    )
    _refresh(edition, at)
    facts = {
        "rule": edition.code,
        "edition": edition.edition,
        "last day": last_day.isoformat(),
        "words": words.strip(),
    }
    log.record(edition.firm, "rule ended", edition.firm, by=by, at=at, facts=facts)
    return adoption


def require_last_day(edition: Rule, last_day: date, at: datetime) -> date:
    """Raises: RuleRefused where the edition cannot end on that day. Returns: since when it is adopted"""
    now = type(edition)._default_manager.with_adoption().get(pk=edition.pk)
    since: date | None = now.adopted_from
    if since is None:
        raise RuleRefused("This edition was never adopted, so there is nothing to end.")
    if now.adopted_until is not None and now.adopted_until < at.date():
        raise RuleRefused(f"This edition ended on {shown(now.adopted_until)} already.")
    if last_day < at.date():
        raise RuleRefused(
            "The last day lies in the past. What was asked for then stays asked for: give today or a later day."
        )
    if last_day < since:
        raise RuleRefused(f"It is adopted from {shown(since)}. Give that day or a later one.")
    if now.adopted_until is not None and last_day > now.adopted_until:
        # The edition that took over may be in force from the day after.
        raise RuleRefused(
            f"This edition ends on {shown(now.adopted_until)}. Give that day or an earlier one; for a later one, "
            "propose a new edition."
        )
    return since


def require_reason_to_change(edition: Rule, words: str) -> None:
    """Raises: RuleRefused where an interval differs from the edition it follows and the reason is none"""
    before = adopted_before(edition)
    if not isinstance(edition, IntervalRule) or not isinstance(before, IntervalRule):
        return
    if clauses := longer(before, edition):
        require_reason(words, f"This lets more time pass: {'; '.join(clauses)}. Say why that is right here.")
    elif changes(before, edition) and not words.strip():
        raise RuleRefused(f"This changes the interval of edition {before.edition}. Say why.")


def require_reason(words: str, sentence: str) -> None:
    """Raises: RuleRefused for no reason at all, or one that names nothing but want of staff or money"""
    if not words.strip():
        raise RuleRefused(sentence)
    if names_only_want_of_means(words):
        raise RuleRefused(
            "Want of staff or money is no reason for looking less often. Say what about the structure, its use or "
            "its readings allows it."
        )


def adopted_before(edition: Rule, on: date | None = None) -> Rule | None:
    """The other edition of the same rule that is adopted, the latest first; on: only those adopted by that day."""
    others = siblings(edition).with_adoption().exclude(pk=edition.pk).filter(adopted_from__isnull=False)
    if on is not None:
        others = others.filter(adopted_from__lte=on)
    found: Rule | None = others.order_by("-adopted_from", "-pk").first()
    return found


def siblings(edition: Rule) -> Any:
    """Every edition of the same rule, itself included: of this code, at this place."""
    return _coded_alike(edition).filter(
        client=edition.client_id, site=edition.site_id, structure=edition.structure_id
    )


def is_code_taken(edition: Rule) -> bool:
    """Whether the code names a rule of another place, and none of this one."""
    return _coded_alike(edition).exists() and not siblings(edition).exists()


def _coded_alike(edition: Rule) -> Any:
    return type(edition)._default_manager.filter(firm=edition.firm_id, code=edition.code)


def lengthens(edition: Rule) -> list[str]:
    """What of an interval lets more time pass than the edition it follows; nothing for limits and first editions."""
    if not isinstance(edition, IntervalRule):
        return []
    before = adopted_before(edition)
    return longer(before, edition) if isinstance(before, IntervalRule) else []


def brought_by(edition: Rule) -> Person | None:
    """Who proposed an edition, or handed in the file it came with; None where the record does not tell."""
    proposal = getattr(edition, "proposal", None)
    if proposal is not None:
        return proposal.by
    kind = ImportKind.INTERVALS if isinstance(edition, IntervalRule) else ImportKind.LIMITS
    file = ImportedFile.objects.filter(
        firm=edition.firm_id, kind=kind, recorded_at=edition.recorded_at
    ).first()
    return file.by if file else None


def others_may_approve(firm: Firm | int, besides: Person, at: datetime) -> bool:
    """Whether somebody else at the firm may approve rules."""
    members = Membership.objects.on(at.date()).filter(
        firm=firm, role__in=MAY[CHANGE_RULES], person__is_active=True
    )
    return bool(members.exclude(person=besides).exists())


def require_somebody_else(edition: Rule, by: Person, at: datetime) -> None:
    """Raises: RuleRefused where the one who brought a longer interval forward would also let it through"""
    if brought_by(edition) == by and others_may_approve(edition.firm_id, by, at):
        raise RuleRefused(
            "A longer interval is approved by somebody other than the person who proposed it. Ask the other "
            "signatory or quality manager."
        )


def stands_on(edition: Rule) -> QuerySet[Structure]:
    """The structures an edition stands on as they are described now, adopted or not."""
    found = _within(edition)
    if edition.explosion_risk is not None:
        found = found.filter(explosion_risk=edition.explosion_risk)
    if isinstance(edition, IntervalRule):
        if edition.critical is not None:
            found = found.filter(critical=edition.critical)
        if edition.classes:
            found = found.filter(protection_class__in=edition.classes.split(","))
    return found


def concerned(edition: Rule) -> list[int]:
    """Ids of the structures a rule may stand on."""
    return list(_within(edition).order_by("pk").values_list("pk", flat=True))


def _within(edition: Rule) -> QuerySet[Structure]:
    structures = Structure.objects.filter(site__client__firm=edition.firm_id)
    if edition.structure_id:
        structures = structures.filter(pk=edition.structure_id)
    if edition.site_id:
        structures = structures.filter(site=edition.site_id)
    if edition.client_id:
        structures = structures.filter(site__client=edition.client_id)
    return structures


def _of(edition: Rule) -> dict[str, Any]:
    return {
        "limit": edition if isinstance(edition, LimitRule) else None,
        "interval": edition if isinstance(edition, IntervalRule) else None,
    }


def _refresh(edition: Rule, at: datetime) -> None:
    if isinstance(edition, IntervalRule):
        due.refresh(concerned(edition), at=at)


def _require_approved(edition: Rule) -> None:
    if getattr(edition, "proposal", None) is None:
        return
    decided = getattr(edition, "decided", None)
    if decided is None:
        raise RuleRefused("This edition is proposed. It can be adopted once it has been approved.")
    if not decided.approved:
        raise RuleRefused("This edition was not approved, so it cannot be adopted. Propose another one.")


def _require_past_kept(edition: Rule, adopted_from: date, at: datetime) -> None:
    """An edition has one time in force: adopted anew from another day, it would seem never to have asked before."""
    now = type(edition)._default_manager.with_adoption().get(pk=edition.pk)
    if now.adopted_from is None or now.adopted_from == adopted_from or now.adopted_from > at.date():
        return
    until = f"until {shown(now.adopted_until)}" if now.adopted_until else "on"
    raise RuleRefused(
        f"This edition applies from {shown(now.adopted_from)} {until}, and what it asked for then stays asked for. "
        "Propose a new edition for another time."
    )


def _require_reason_to_adopt(edition: Rule, words: str, by: Person, at: datetime) -> None:
    """A proposal's reason was asked for when it was made, and somebody else approved it."""
    if getattr(edition, "proposal", None) is not None:
        return
    require_reason_to_change(edition, words)
    if lengthens(edition):
        require_somebody_else(edition, by, at)


def _end_others(edition: Rule, adopted_from: date, by: Person, at: datetime) -> dict[str, str]:
    """The day before is the last of every other edition of the rule. Returns: the last days by edition"""
    last = adopted_from - timedelta(days=1)
    ended = {}
    for other in siblings(edition).with_adoption().exclude(pk=edition.pk).filter(adopted_from__isnull=False):
        if other.adopted_until is not None and other.adopted_until <= last:
            continue
        if other.adopted_from > last:
            raise RuleRefused(
                f"Edition {other.edition} is adopted from {shown(other.adopted_from)}. Give a later day than that, "
                "or end that edition first."
            )
        Adoption.objects.create(
            **_of(other), adopted_from=other.adopted_from, adopted_until=last, by=by, recorded_at=at,
            words=f"Edition {edition.edition} takes over.",
        )  # fmt: skip
        _refresh(other, at)
        ended[other.edition] = last.isoformat()
    return ended
