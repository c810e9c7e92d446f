"""Everybody who may stand before an address: the firm's roles, those who belong elsewhere, and nobody.

A line of the table speaks of roles (may they do this?) and of people (does it exist for them?).
"""

from sites.models import Role

NO_ROLE = "no role"

# One person in each role, whose firm and client own everything that is asked for.
INSIDE = tuple(str(role) for role in Role.values)

OTHER_FACILITY = "the facility manager of another client of the firm"
UNASSIGNED = "an inspector of the firm to whom nothing is assigned"
ENDED = "an auditor whose grant ended yesterday"
OTHER_FIRM = "the planner of another firm"
STRANGER = "somebody who signs in and has no role"
# The person to be kept out, and the role in which they come.
OUTSIDE = {
    OTHER_FACILITY: str(Role.FACILITY),
    UNASSIGNED: str(Role.INSPECTOR),
    ENDED: NO_ROLE,
    OTHER_FIRM: str(Role.PLANNER),
    STRANGER: NO_ROLE,
}
SIGNED_IN = (*INSIDE, *OUTSIDE)
ANONYMOUS = "somebody who has not signed in"


def role_of(who: str) -> str:
    """The role in which somebody of the cast comes."""
    return OUTSIDE.get(who, who)


# Sets of roles for the table ------------------------------------------------------------------------------------

PLANNER, INSPECTOR, REVIEWER, SIGNATORY = Role.PLANNER, Role.INSPECTOR, Role.REVIEWER, Role.SIGNATORY
QUALITY, FACILITY, AUDITOR = Role.QUALITY, Role.FACILITY, Role.AUDITOR


def only(*roles: str) -> frozenset[str]:
    return frozenset(str(role) for role in roles)


EVERY_ROLE = frozenset(INSIDE)
EVERYBODY = EVERY_ROLE | {NO_ROLE}
OFFICE = only(PLANNER, REVIEWER, SIGNATORY, QUALITY)  # these see the whole firm
FIRM = OFFICE | only(INSPECTOR)

# Sets of people for whom a thing exists ---------------------------------------------------------------------------

AT_THE_SITE = frozenset(INSIDE)
IN_THE_FIRM = AT_THE_SITE | {OTHER_FACILITY, UNASSIGNED}
EVERYONE = frozenset(SIGNED_IN)
