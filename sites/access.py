"""Who may do what: the role table as data, asked by views before they call an action."""

from datetime import date

from django.core.exceptions import PermissionDenied

from sites.models import Firm, Membership, Person, Role

PLAN = "plan"
ENTER = "enter readings"
CORRECT = "correct readings"
REVIEW = "review"
AUTHORISE = "authorise"
CHANGE_REGISTER = "change the register"
CHANGE_RULES = "change rules"
CHANGE_INSTRUMENTS = "change instruments"
REPORT_EVENTS = "report events"

MAY: dict[str, frozenset[str]] = {
    PLAN: frozenset({Role.PLANNER}),
    ENTER: frozenset({Role.INSPECTOR}),
    CORRECT: frozenset({Role.INSPECTOR, Role.REVIEWER}),
    REVIEW: frozenset({Role.REVIEWER}),
    AUTHORISE: frozenset({Role.SIGNATORY}),
    CHANGE_REGISTER: frozenset({Role.PLANNER}),
    CHANGE_RULES: frozenset({Role.SIGNATORY, Role.QUALITY}),
    CHANGE_INSTRUMENTS: frozenset({Role.PLANNER, Role.QUALITY}),
    REPORT_EVENTS: frozenset({Role.PLANNER, Role.FACILITY}),
}


def may(person: Person, act: str, firm: Firm | int, *, on: date) -> bool:
    """Whether one of the person's roles at the firm allows the act on that day.

    What the person may see is another question, answered by ``visible_to``: ask that first.
    """
    return Membership.objects.on(on).filter(person=person, firm=firm, role__in=MAY[act]).exists()


def require(allowed: bool) -> None:
    """Answer 403 to somebody who may look but not do this."""
    if not allowed:
        raise PermissionDenied
