"""What somebody may do at a visit: what a role allows that reaches its site."""

from datetime import date

from inspections.models import Visit
from sites.access import acts_of, roles_at
from sites.models import Person


def acts_at(person: Person, visit: Visit, *, on: date) -> frozenset[str]:
    """The acts that the person's roles allow at the visit on that day. visit: with its structure, site and client"""
    return acts_of(roles_at(person, visit.structure.site, on=on))
