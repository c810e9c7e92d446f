"""Answering for it that a structure needs no inspection, and taking that back."""

from datetime import date, datetime

from django.db import transaction

from inspections.actions.rules import RuleRefused, require_reason
from inspections.models import NoneRequired
from sites import log
from sites.models import Person, Structure


@transaction.atomic
def none_required(structure: Structure, *, since: date, words: str, by: Person, at: datetime) -> NoneRequired:
    """Record that none is required, because. Rules that stand on it go on asking. Raises: RuleRefused"""
    require_reason(words, "Say why none is required: “none required, because …”.")
    if since > structure.site.day_at(at):
        raise RuleRefused("That day lies in the future. Record it once it is so.")
    last = NoneRequired.objects.latest_of(structure.pk).first()
    if last is not None and last.stands:
        raise RuleRefused("That is on record already.")
    return _keep(structure, True, since, words, by, at, "none required")


@transaction.atomic
def required_after_all(structure: Structure, *, words: str, by: Person, at: datetime) -> NoneRequired:
    """Take it back: the structure is to be completed again. Raises: RuleRefused"""
    if not words.strip():
        raise RuleRefused("Say why it is to be inspected after all.")
    last = NoneRequired.objects.latest_of(structure.pk).first()
    if last is None or not last.stands:
        raise RuleRefused("Nothing on record says that none is required.")
    return _keep(structure, False, structure.site.day_at(at), words, by, at, "required after all")


def _keep(
    structure: Structure, stands: bool, since: date, words: str, by: Person, at: datetime, action: str
) -> NoneRequired:
    locked = Structure.objects.select_for_update(no_key=True).get(pk=structure.pk)
    row = NoneRequired.objects.create(
        structure=locked, stands=stands, since=since, words=words.strip(), by=by, recorded_at=at
    )
    facts = {"since": since.isoformat(), "words": row.words}
    log.record(structure.site.client.firm, action, structure, by=by, at=at, facts=facts)
    return row
