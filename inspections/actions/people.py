"""A role given to somebody who is assigned to visits already: as an inspector they see where they go."""

from datetime import date, datetime

from django.db import transaction

from inspections.actions.planning import let_see
from inspections.models import VisitPerson, VisitState
from sites.actions.people import create_membership
from sites.models import Firm, Membership, Person, Role, Structure

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
    member = create_membership(person, firm=firm, role=role, since=since, until=until, by=by, at=at)
    if role == Role.INSPECTOR:
        mine = VisitPerson.objects.filter(person=person, visit__firm=firm).exclude(visit__state__in=OVER)
        places = Structure.objects.filter(pk__in=mine.values("visit__structure"))
        for structure in places.select_related("site__client").order_by("pk"):
            let_see(person, structure, at)
    return member
