"""Planning: the workload of eighteen months, what could be brought forward, and plans that are odd."""

from datetime import date, datetime, timedelta
from functools import partial
from typing import Any

import django_tables2 as tables
from django.http import Http404, HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import due_list
from inspections.models import DueDate, Visit
from inspections.rules.bring_forward import monday_of
from inspections.tables.due import DueTable
from inspections.tables.planning import KindTable, PlannedVisitTable, ProposalTable, WeekTable
from inspections.tables.visits import paged
from inspections.views.due import memberships
from inspections.workload import booked, in_window, moved_often, planned_late, standing, window, workload
from inspections.workload_drawing import described, drawing
from sites.access import require
from sites.exports.answer import as_file
from sites.models import WHOLE_FIRM_ROLES, Role
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

WEEKS_A_PAGE, ROWS_A_PAGE, OBLIGATIONS_A_PAGE = 13, 10, 50


def _seen(request: HttpRequest, at: datetime) -> tuple[Any, Any, set[str]]:
    """Obligations with today and visits that the person sees, and their roles; only the office plans ahead."""
    person, on = signed_in(request), at.date()
    held = memberships(person, on)
    roles = {role for _, role in held}
    require(bool(roles & set(WHOLE_FIRM_ROLES)))
    firms = {firm for firm, role in held if role in WHOLE_FIRM_ROLES}
    owed = due_list.with_today(DueDate.objects.filter(firm__in=firms), at)
    return owed, Visit.objects.filter(firm__in=firms), roles


@require_safe
def planning(request: HttpRequest) -> HttpResponseBase:
    at = timezone.now()
    owed, visits, roles = _seen(request, at)
    may_plan = Role.PLANNER in roles
    found = workload(owed, visits, at)
    shown = visits.select_related("structure__site__client")
    tables_of_page: dict[str, tuple[tables.Table, str, int]] = {
        "weeks": (WeekTable(found.weeks, prefix="w-"), "workload by week", WEEKS_A_PAGE),
        "proposals": (ProposalTable(found.flattened.proposals, prefix="p-"), "work to bring forward", ROWS_A_PAGE),
        "skills": (_kinds(found.skills, "Kinds of system, kind of visit", "s-"), "workload by skill", ROWS_A_PAGE),
        "instruments": (_kinds(found.instruments, "Instruments needed", "i-"), "workload by instrument", ROWS_A_PAGE),
        "booked": (
            PlannedVisitTable(
                SortedInPages(booked(shown)), prefix="b-", head="Who goes", odd="goes", may_plan=may_plan,
                caption="Visits planned, the next first", empty="No visit is planned",
            ), "visits planned", ROWS_A_PAGE,
        ),
        "moved": (
            PlannedVisitTable(
                SortedInPages(moved_often(shown)), prefix="m-", may_plan=may_plan, head="Times moved", odd="moves",
                caption="Visits moved more than twice", empty="No visit was moved more than twice",
            ), "visits moved more than twice", ROWS_A_PAGE,
        ),
        "late": (
            PlannedVisitTable(
                SortedInPages(planned_late(shown)), prefix="l-", may_plan=may_plan, head="Was due on", odd="first_due",
                caption="Visits planned after what they settle is due", empty="No visit is planned after its due day",
            ), "visits planned after due", ROWS_A_PAGE,
        ),
    }  # fmt: skip
    context: dict[str, Any] = {"found": found, "drawing": drawing(found), "words": described(found)}
    prefixes = [table.prefix for table, _, _ in tables_of_page.values()]
    for name, (table, called, rows) in tables_of_page.items():
        if file := as_file(request, table, called, at=at, beside=prefixes):
            return file
        context[name] = paged(table, request, rows)
    return render(request, "inspections/planning.html", context)


def _kinds(rows: Any, head: str, prefix: str) -> KindTable:
    return KindTable(rows, head=head, caption=head, prefix=prefix)


@require_safe
def week(request: HttpRequest, monday: str) -> HttpResponseBase:
    """What falls due in one week, each to be planned from here."""
    at = timezone.now()
    owed, visits, roles = _seen(request, at)
    try:
        first = date.fromisoformat(monday)
    except ValueError as fault:
        raise Http404 from fault
    begins, ends = window(at)
    if first != monday_of(first) or not begins <= first <= ends:
        raise Http404
    days = (first, first + timedelta(days=6))
    rows = in_window(owed, at).filter(due__range=days)
    table = DueTable(
        SortedInPages([rows], partial(due_list.slice_of, at=at), to_sort=lambda: rows),
        may_plan=Role.PLANNER in roles,
    )
    table.empty_head, table.empty_text = (
        "Nothing falls due in this week",
        "Other weeks stand on the planning page.",
    )
    planned = PlannedVisitTable(
        SortedInPages(standing(visits.select_related("structure__site__client"), days)), prefix="b-",
        head="Who goes", odd="goes",
        may_plan=Role.PLANNER in roles, caption="Visits planned for this week", empty="No visit is planned for it",
    )  # fmt: skip
    for shown, name in ((table, "due in"), (planned, "visits planned for")):
        if file := as_file(request, shown, f"{name} the week from {first}", at=at, beside=["", "b-"]):
            return file
    paged(planned, request, OBLIGATIONS_A_PAGE)
    paginate(table, request, per_page=OBLIGATIONS_A_PAGE)
    last = first + timedelta(days=6)
    context = {"table": table, "planned": planned, "first": first, "last": last}
    return render(request, "inspections/planning_week.html", context)
