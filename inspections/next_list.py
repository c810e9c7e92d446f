"""What a person must do next: at most seven things, each with the one thing to press."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.urls import reverse

from inspections.due_list import OPEN_VISIT, overdue, running, without_visit
from inspections.local_days import days_in_force
from inspections.models import DueDate, Visit, VisitPerson, VisitState, VisitStep
from inspections.rules.due_dates.standing import DUE_SOON_DAYS
from inspections.standing_words import Owed, owed_on
from sites.access import AUTHORISE, PLAN, REVIEW, where_allowed
from sites.models import Person, Role
from sites.templatetags.downlead import day

MOST = 7
RULES_A_STRUCTURE = 6  # so many rows are looked through for each structure that is shown

Held = tuple[int, str]
"""A firm and a role held in it."""


@dataclass(frozen=True, slots=True)
class Step:
    """state, words, family: shape and word; what: the sentence's bold beginning; more: who and when

    label, address: the one link to press; why: where it stands how a due day comes about, empty where none is told
    """

    state: str
    words: str
    family: str
    what: str
    more: str
    label: str
    address: str
    why: str = ""


def steps(
    person: Person, held: Collection[Held], owed: QuerySet[DueDate], at: datetime, *, on: date
) -> list[Step]:
    """What waits for somebody in these roles, in three queries: visits that wait, then what nobody has planned.

    held: (firm, role) of those in force
    owed: obligations ``with_today`` of the sites the person sees
    """
    plans_in = where_allowed(held, PLAN)
    found = [_visit_step(visit) for visit in _waiting_visits(person, held, on)]
    found += [_due_step(row, plans_in) for row in _unplanned(owed, at)]
    # A visit that waits is in hand; what is overdue and unplanned is not, and comes first.
    return sorted(found, key=lambda step: step.state != "overdue")[:MOST]


def _waiting_visits(person: Person, held: Collection[Held], on: date) -> list[Visit]:
    wanted = Q(pk__in=[])
    if signs_in := where_allowed(held, AUTHORISE):
        wanted |= Q(state=VisitState.APPROVED, firm__in=signs_in)
    if reviews_in := where_allowed(held, REVIEW):
        wanted |= Q(state__in=(VisitState.IN_REVIEW, VisitState.AMENDING), firm__in=reviews_in)
    if inspects_in := {firm for firm, role in held if role == Role.INSPECTOR}:
        theirs = (*OPEN_VISIT, VisitState.FIELD_COMPLETE)
        assigned = VisitPerson.objects.filter(person=person).values("visit")
        wanted |= Q(state__in=theirs, firm__in=inspects_in, pk__in=assigned)
    visits = Visit.objects.visible_to(person, on=on).filter(wanted).select_related("structure__site")
    reviewed = VisitStep.objects.filter(visit=OuterRef("pk"), state=VisitState.IN_REVIEW)
    visits = visits.annotate(came_back=Exists(reviewed.order_by()))
    return list(visits.order_by("planned_on", "pk")[:MOST])


def _visit_step(visit: Any) -> Step:
    address = reverse("visit", args=[visit.pk])
    place = f"{visit.structure.name}, {visit.structure.site.name}"
    what = f"{place}: visit {visit.number}, {visit.get_kind_display()}."
    planned = f"Planned for {day(visit.planned_on)}."
    if visit.state == VisitState.PLANNED:
        return Step("due soon", "visit planned", "", what, planned, "Open the visit", address)
    if visit.state == VisitState.ON_SITE and visit.came_back:
        more = "The reviewing engineer sent it back."
        return Step("due", "sent back", "", what, more, "See what is to be done", address)
    if visit.state == VisitState.ON_SITE:
        return Step("due", "on site", "", what, planned, "Go on reading", address)
    if visit.state == VisitState.FIELD_COMPLETE:
        return Step("draft", "to hand in", "report", what, "The field work is complete.", "Hand in", address)
    if visit.state == VisitState.APPROVED:
        return Step("draft", "to authorise", "report", what, "Reviewed and approved.", "Authorise", address)
    return Step("draft", "to review", "report", what, f"The visit is {visit.state}.", "Review", address)


def _unplanned(owed: QuerySet[DueDate], at: datetime) -> list[Owed]:
    """What no visit is planned for, one a structure: the longest overdue, else what governs within 60 days.

    What governs is the earliest due day, which may be in grace while another is overdue.
    """
    until = days_in_force(at)[-1] + timedelta(days=DUE_SOON_DAYS)
    governing = running(owed).filter(governs=True, due__lte=until)
    found: dict[int, Owed] = {}
    for rows in (overdue(owed, at).order_by("due", "pk"), governing.order_by("due", "pk")):
        for row in without_visit(rows).select_related("structure", "site")[: MOST * RULES_A_STRUCTURE]:
            found.setdefault(row.structure_id, owed_on(row.site.day_at(at), row))
    return list(found.values())[:MOST]


def _due_step(owed: Owed, plans_in: Collection[int]) -> Step:
    row = owed.row
    what = f"{row.structure.name}, {row.site.name}: {row.asked_for}, due {day(row.due)}."
    more = f"{row.author}. No visit is planned."
    if row.firm_id in plans_in:
        label, address = "Plan a visit", reverse("plan-visit", args=[row.structure_id])
    else:
        label, address = "See the structure", reverse("structure", args=[row.structure_id])
    return Step(owed.state, owed.words, "obligation", what, more, label, address, owed.working)
