"""A role given to somebody who is assigned to visits already: as an inspector they see where they go."""

from datetime import date, datetime

from django.db import transaction

from inspections.actions.planning import let_see, lock_sight
from inspections.models import VisitPerson, VisitState
from sites.actions.people import create_membership
from sites.locks import lock_firm
from sites.models import Firm, Membership, Person, Role, Site, Structure

OVER = (VisitState.ISSUED, VisitState.CANCELLED)


@transaction.atomic
def give_role(
    person: Person,
    *,
    firm: Firm,
    role: str,
    since: date,
    by: Person,
    at: datetime,
    until: date | None = None,
) -> Membership:
    """As ``create_membership``; a new inspector sees the sites of those visits of theirs that are not over.

    Raises: PeopleRefused
    """
    lock_firm(firm.pk)
    places = _to_go_to(person, firm) if role == Role.INSPECTOR else []
    member = create_membership(person, firm=firm, role=role, since=since, until=until, by=by, at=at)
    for structure in places:
        let_see(person, structure, at)
    return member


def _to_go_to(person: Person, firm: Firm) -> list[Structure]:
    """Where their visits take place, locked as in ``visits.plan``: referred to once the log's head is ours."""
    mine = VisitPerson.objects.filter(person=person, visit__firm=firm).exclude(visit__state__in=OVER)
    rows = Structure.objects.filter(pk__in=mine.values("visit__structure"))
    sites = Site.objects.filter(pk__in=rows.order_by().values("site"))
    list(sites.order_by("pk").select_for_update(no_key=True))
    lock_sight([person], firm)
    return list(rows.select_related("site__client").order_by("pk"))
