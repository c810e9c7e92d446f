"""Taking a rule's edition into use, and ending its use."""

from datetime import date, datetime

from django.db import transaction

from inspections.actions import due
from inspections.models import Adoption, IntervalRule, LimitRule
from sites import log
from sites.models import Person, Structure


@transaction.atomic
def adopt(
    edition: LimitRule | IntervalRule,
    *,
    adopted_from: date,
    by: Person,
    at: datetime,
    adopted_until: date | None = None,
) -> Adoption:
    """Adopt an edition from a day (until a day, both included), or say anew until when it holds.

    Verdicts stored before stay as they were; due dates are reckoned again for the structures it may concern.
    """
    adoption = Adoption.objects.create(
        limit=edition if isinstance(edition, LimitRule) else None,
        interval=edition if isinstance(edition, IntervalRule) else None,
        adopted_from=adopted_from,
        adopted_until=adopted_until,
        recorded_at=at,
    )
    if isinstance(edition, IntervalRule):
        due.refresh(concerned(edition), at=at)
    facts = {
        "rule": edition.code,
        "edition": edition.edition,
        "from": adopted_from.isoformat(),
        "until": adopted_until.isoformat() if adopted_until else None,
    }
    log.record(edition.firm, "rule adopted", edition.firm, by=by, at=at, facts=facts)
    return adoption


def concerned(edition: IntervalRule) -> list[int]:
    """Ids of the structures a rule may stand on."""
    structures = Structure.objects.filter(site__client__firm=edition.firm_id)
    if edition.structure_id:
        structures = structures.filter(pk=edition.structure_id)
    if edition.site_id:
        structures = structures.filter(site=edition.site_id)
    if edition.client_id:
        structures = structures.filter(site__client=edition.client_id)
    return list(structures.order_by("pk").values_list("pk", flat=True))
