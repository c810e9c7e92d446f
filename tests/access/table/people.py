"""People, their roles and authorisations; inviting somebody."""

from typing import Any

from tests import factories as make
from tests.access import rows
from tests.access.cast import AUDITOR, OFFICE, QUALITY, REVIEWER, SIGNATORY, only
from tests.access.line import Line
from tests.second_factor import set_up_app

SEE = OFFICE | only(AUDITOR)
CHANGE = only(QUALITY, SIGNATORY)
# Whoever does not see people at all is told that this one is not there.
SEEN_BY = SEE


def somebody(stage: Any) -> Any:
    return stage.people[REVIEWER]


def with_a_second_factor(stage: Any) -> Any:
    person = somebody(stage)
    if not person.authenticator_set.exists():
        set_up_app(person)
    return person


def role(stage: Any) -> Any:
    return somebody(stage).memberships.first()


def reach(stage: Any) -> Any:
    """Of somebody who reaches the owner's sites."""
    member = stage.people[AUDITOR].memberships.first()
    return make.ScopeFactory(membership=member, client=stage.owner)


def invitation(stage: Any) -> Any:
    return make.InvitationFactory(person=somebody(stage), firm=stage.firm, by=somebody(stage))


def authorisation(stage: Any) -> Any:
    return make.AuthorisationFactory(person=somebody(stage), firm=stage.firm)


LINES = [
    Line("people", get=SEE, rows=rows.people),
    Line("invite", get=CHANGE, post=CHANGE),
    Line("person", get=SEE, of=somebody, seen_by=SEEN_BY),
    Line("person-add-role", get=CHANGE, post=CHANGE, of=somebody, seen_by=SEEN_BY),
    Line("person-grant", get=CHANGE, post=CHANGE, of=somebody, seen_by=SEEN_BY),
    Line("person-authorise", get=CHANGE, post=CHANGE, of=somebody, seen_by=SEEN_BY),
    Line("person-erase-contact", get=CHANGE, post=CHANGE, of=somebody, seen_by=SEEN_BY),
    Line("person-remove-factors", get=CHANGE, post=CHANGE, of=with_a_second_factor, seen_by=SEEN_BY),
    Line("invite-again", post=CHANGE, of=somebody, seen_by=SEEN_BY),
    Line("role-end", get=CHANGE, post=CHANGE, of=role, seen_by=SEEN_BY),
    Line("role-reach", get=CHANGE, post=CHANGE, of=role, seen_by=SEEN_BY),
    Line("reach-end", get=CHANGE, post=CHANGE, of=reach, seen_by=SEEN_BY),
    Line("authorisation-end", get=CHANGE, post=CHANGE, of=authorisation, seen_by=SEEN_BY),
    Line("invitation-withdraw", post=CHANGE, of=invitation, seen_by=OFFICE),
]
