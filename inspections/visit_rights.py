"""What somebody may do at a visit: what a role allows that reaches its site; an inspector only at their own visits."""

from datetime import date

from inspections.models import Visit
from sites.access import acts_of, roles_at
from sites.models import WHOLE_FIRM_ROLES, Person, Role


def acts_at(person: Person, visit: Visit, *, on: date) -> frozenset[str]:
    """The acts that the person's roles allow at the visit on that day, in at most two queries.

    Who is an inspector and has no role of the office sees the site's other visits, and acts only at those they are
    assigned to. visit: with its structure, site and client
    """
    roles = roles_at(person, visit.structure.site, on=on)
    inspects_only = Role.INSPECTOR in roles and roles.isdisjoint(WHOLE_FIRM_ROLES)
    if inspects_only and not visit.inspectors.filter(person=person).exists():
        roles -= {Role.INSPECTOR}
    return acts_of(roles)
