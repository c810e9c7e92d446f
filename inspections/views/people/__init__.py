"""People: the list, a person's page, and the acts about them."""

from inspections.views.people.acts import (
    add_authorisation,
    add_reach,
    add_role,
    end_authorisation,
    end_reach,
    end_role,
    erase_contact,
    grant_audit,
    remove_factors,
)
from inspections.views.people.inviting import invite, invite_again, withdraw_invitation
from inspections.views.people.pages import people, person

__all__ = [
    "add_authorisation",
    "add_reach",
    "add_role",
    "end_authorisation",
    "end_reach",
    "end_role",
    "erase_contact",
    "grant_audit",
    "invite",
    "invite_again",
    "people",
    "person",
    "remove_factors",
    "withdraw_invitation",
]
