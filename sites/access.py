"""Who may do what: the role table as data, asked by views before they call an action."""

from collections.abc import Collection, Iterable
from datetime import date

from django.core.exceptions import PermissionDenied
from django.db.models import Exists, OuterRef, Q, QuerySet

from sites.models import WHOLE_FIRM_ROLES, Firm, Membership, Person, Role, Scope, Site

PLAN = "plan"
ENTER = "enter readings"
CORRECT = "correct readings"
REVIEW = "review"
AUTHORISE = "authorise"
AMEND = "amend and withdraw reports"
PROPOSE_AMENDMENTS = "propose amendments"
CHANGE_REGISTER = "change the register"
CHANGE_RULES = "change rules"
PROPOSE_RULES = "propose rules"
STATE_RULES = "state own rules"
CHANGE_INSTRUMENTS = "change instruments"
REPORT_EVENTS = "report events"
WITHDRAW_EVENTS = "withdraw an event"
SUSPEND = "take a structure out of use"
WISH_DATES = "wish for dates"
CHANGE_PEOPLE = "change people"
DRAW_SAMPLES = "draw samples"
TELL_OF_DANGER = "tell somebody of a danger"
FOLLOW_DEFECTS = "record what became of a defect"
ACCEPT_DEFECTS = "accept a defect"
WITHDRAW_DEFECTS = "withdraw a defect"
DEMAND_SECOND_FACTOR = "demand a second factor"
KEEP_DOCUMENTS = "keep documents"
WITHDRAW_DOCUMENTS = "withdraw documents"
KEEP_AT_VISITS = "keep documents of visits"

MAY: dict[str, frozenset[str]] = {
    PLAN: frozenset({Role.PLANNER}),
    ENTER: frozenset({Role.INSPECTOR}),
    CORRECT: frozenset({Role.INSPECTOR, Role.REVIEWER}),
    REVIEW: frozenset({Role.REVIEWER}),
    AUTHORISE: frozenset({Role.SIGNATORY}),
    AMEND: frozenset({Role.SIGNATORY}),
    PROPOSE_AMENDMENTS: frozenset({Role.REVIEWER}),
    CHANGE_REGISTER: frozenset({Role.PLANNER}),
    CHANGE_RULES: frozenset({Role.SIGNATORY, Role.QUALITY}),
    PROPOSE_RULES: frozenset({Role.PLANNER, Role.REVIEWER}),
    STATE_RULES: frozenset({Role.FACILITY}),
    CHANGE_INSTRUMENTS: frozenset({Role.PLANNER, Role.QUALITY}),
    REPORT_EVENTS: frozenset({Role.PLANNER, Role.FACILITY}),
    # Whoever answers for a building may not take back by themselves what makes an inspection due.
    WITHDRAW_EVENTS: frozenset({Role.PLANNER, Role.REVIEWER, Role.SIGNATORY}),
    SUSPEND: frozenset({Role.PLANNER}),
    WISH_DATES: frozenset({Role.FACILITY}),
    CHANGE_PEOPLE: frozenset({Role.QUALITY, Role.SIGNATORY}),
    DRAW_SAMPLES: frozenset({Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY, Role.AUDITOR}),
    TELL_OF_DANGER: frozenset({Role.INSPECTOR, Role.REVIEWER}),
    FOLLOW_DEFECTS: frozenset({Role.PLANNER, Role.INSPECTOR, Role.REVIEWER}),
    ACCEPT_DEFECTS: frozenset({Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY}),
    WITHDRAW_DEFECTS: frozenset({Role.REVIEWER, Role.SIGNATORY}),
    DEMAND_SECOND_FACTOR: frozenset({Role.SIGNATORY, Role.QUALITY}),
    # Whoever works at a site or answers for it brings in what they have; the office says what is no longer used.
    KEEP_DOCUMENTS: frozenset(
        {Role.PLANNER, Role.INSPECTOR, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY, Role.FACILITY}
    ),
    WITHDRAW_DOCUMENTS: frozenset({Role.PLANNER, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY}),
    # A visit is the contractor's: what belongs to one, its own people bring in.
    KEEP_AT_VISITS: frozenset({Role.PLANNER, Role.INSPECTOR, Role.REVIEWER, Role.SIGNATORY, Role.QUALITY}),
}


def may(person: Person, act: str, firm: Firm | int, *, on: date) -> bool:
    """Whether one of the person's roles at the firm allows the act on that day, for what belongs to the whole firm.

    For what stands at a site ask ``may_at``. What the person may see is another question, answered by ``visible_to``:
    ask that first.
    """
    return Membership.objects.on(on).filter(person=person, firm=firm, role__in=MAY[act]).exists()


def may_at(person: Person, act: str, site: Site, *, on: date) -> bool:
    """Whether a role that reaches the site on that day allows the act there. site: with its client"""
    return bool(roles_at(person, site, on=on) & MAY[act])


def roles_at(person: Person, site: Site, *, on: date) -> frozenset[str]:
    """The person's roles that reach the site on that day, in one query.

    Somebody may answer for one client's buildings and look at another's as an auditor: a role's rights end where its
    own scopes do, whatever their other roles show them. site: with its client
    """
    here = Scope.objects.on(on).filter(Q(site=site.pk) | Q(client=site.client_id), membership=OuterRef("pk"))
    held = Membership.objects.on(on).filter(person=person, firm=site.client.firm_id)
    reaching = held.filter(Q(role__in=WHOLE_FIRM_ROLES) | Exists(here))
    return frozenset(reaching.values_list("role", flat=True))


def acts_of(roles: Collection[str]) -> frozenset[str]:
    """The acts that at least one of the roles allows."""
    return frozenset(act for act, allowed in MAY.items() if allowed.intersection(roles))


def sites_where(person: Person, acts: Collection[str], sites: Collection[int], *, on: date) -> set[int]:
    """Those of the sites (ids, such as a page's) where a role that reaches them allows one of the acts on that day."""
    roles = frozenset[str]().union(*(MAY[act] for act in acts))
    there = Site.objects.filter(pk__in=sites).visible_to(person, on=on, roles=roles)
    return set(there.values_list("pk", flat=True))


def firms_of(person: Person, roles: Collection[str], *, on: date) -> QuerySet[Firm]:
    """The firms where the person holds one of the roles on that day, by name."""
    held = Membership.objects.on(on).filter(person=person, role__in=roles)
    return Firm.objects.filter(pk__in=held.values("firm")).order_by("name", "pk")


def where_allowed(held: Iterable[tuple[int, str]], act: str) -> frozenset[int]:
    """The firms, of (firm, role) of somebody's roles, where one allows the act; only for acts of whole-firm roles."""
    return frozenset(firm for firm, role in held if role in MAY[act])


def require(allowed: bool) -> None:
    """Answer 403 to somebody who may look but not do this."""
    if not allowed:
        raise PermissionDenied
