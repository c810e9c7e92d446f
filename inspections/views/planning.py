"""Planning: the workload of eighteen months, what could be brought forward, and plans that are odd."""

from collections.abc import Collection, Sequence
from datetime import date, datetime, timedelta
from functools import partial
from typing import Any, NamedTuple

import django_tables2 as tables
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import due_list
from inspections.asked_days import AskedDays
from inspections.forms.planning import AskedForm
from inspections.local_days import days_in_force, local_day
from inspections.models import DueDate, Visit, Wish
from inspections.rules.bring_forward import Proposal, monday_of
from inspections.tables.due import DueTable
from inspections.tables.planning import (
    AskedTable,
    KindTable,
    PlannedVisitTable,
    ProposalTable,
    WeekTable,
    WishTable,
    asked_at,
)
from inspections.tables.visits import paged
from inspections.views.due import memberships
from inspections.workload import (
    booked,
    by_week,
    in_window,
    moved_often,
    planned_late,
    skills_of,
    standing,
    until_its_end,
    window,
    without_event,
    workload,
)
from inspections.workload_drawing import described, drawing
from sites.access import PLAN, require, where_allowed
from sites.exports.answer import as_file
from sites.models import WHOLE_FIRM_ROLES
from sites.tables.paged import FetchedInPages, paginate
from sites.tables.sorting import SortedInPages
from sites.views.signed_in import signed_in

KINDS = {"skill": "Kinds of system, kind of visit", "instrument": "Instruments needed"}
WEEKS_A_PAGE, ROWS_A_PAGE, OBLIGATIONS_A_PAGE = 13, 10, 50


class _Seen(NamedTuple):
    """Of the firms (ids) where somebody is of the office: obligations with today, visits, and where they plan."""

    firms: set[int]
    owed: QuerySet[DueDate]
    visits: QuerySet[Visit]
    plans_in: frozenset[int]


def _seen(request: HttpRequest, at: datetime) -> _Seen:
    held = memberships(signed_in(request), at.date())
    firms = {firm for firm, role in held if role in WHOLE_FIRM_ROLES}
    require(bool(firms))
    owed = due_list.with_today(DueDate.objects.filter(firm__in=firms), at)
    return _Seen(firms, owed, Visit.objects.filter(firm__in=firms), where_allowed(held, PLAN))


@require_safe
def planning(request: HttpRequest) -> HttpResponseBase:
    at = timezone.now()
    firms, owed, visits, plans_in = _seen(request, at)
    found = workload(owed, visits, at)
    shown = visits.select_related("structure__site__client")
    tables_of_page: dict[str, tuple[tables.Table, str, int]] = {
        "weeks": (WeekTable(found.weeks, prefix="w-"), "workload by week", WEEKS_A_PAGE),
        "proposals": (ProposalTable(found.flattened.proposals, prefix="p-"), "work to bring forward", ROWS_A_PAGE),
        "skills": (_kinds(found.skills, "skill", at), "workload by skill", ROWS_A_PAGE),
        "instruments": (_kinds(found.instruments, "instrument", at), "workload by instrument", ROWS_A_PAGE),
        "booked": (
            PlannedVisitTable(
                SortedInPages(booked(shown)), prefix="b-", head="Who goes", odd="goes", plans_in=plans_in,
                caption="Visits planned, the next first", empty="No visit is planned",
            ), "visits planned", ROWS_A_PAGE,
        ),
        "moved": (
            PlannedVisitTable(
                SortedInPages(moved_often(shown)), prefix="m-", plans_in=plans_in, head="Times moved", odd="moves",
                caption="Visits moved more than twice", empty="No visit was moved more than twice",
            ), "visits moved more than twice", ROWS_A_PAGE,
        ),
        "wishes": (WishTable(SortedInPages(_wishes(firms, at)), prefix="d-"), "days wished for", ROWS_A_PAGE),
        "unasked": (
            PlannedVisitTable(
                SortedInPages(without_event(shown)), prefix="n-", plans_in=plans_in, head="For what", odd="purpose",
                caption="After-event visits planned where no event asks for one now",
                empty="Every after-event visit that is planned has an event that asks for it",
            ), "visits planned after events that ask for nothing", ROWS_A_PAGE,
        ),
        "late": (
            PlannedVisitTable(
                SortedInPages(planned_late(shown)), prefix="l-", plans_in=plans_in, head="Was due on", odd="first_due",
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


def _wishes(firms: Collection[int], at: datetime) -> QuerySet[Wish]:
    """Those for days that are not over at the site, the next first."""
    rows = Wish.objects.filter(structure__site__client__firm__in=firms, until_day__gte=days_in_force(at)[0])
    rows = rows.filter(until_day__gte=local_day("structure__site__time_zone", at))
    return rows.select_related("structure__site__client", "by").order_by("from_day", "pk")


def _kinds(rows: Any, by: str, at: datetime) -> KindTable:
    head = KINDS[by]
    return KindTable(rows, head=head, caption=head, by=by, first=window(at)[0], prefix=f"{by[0]}-")


@require_safe
def asked_for(request: HttpRequest) -> HttpResponseBase:
    """Each obligation on each day of the eighteen months on which it is asked for: the rows of planning's numbers."""
    at = timezone.now()
    _, owed, _, plans_in = _seen(request, at)
    form = AskedForm(request.GET, skills=skills_of(until_its_end(owed, at)))
    found = AskedDays(owed, at, form.choice)
    table = AskedTable(FetchedInPages(found.fetch), plans_in=plans_in)
    if file := as_file(request, table, "asked for", at=at, narrowed_by=form):
        return file
    table.empty_head = "Nothing is asked for" + (" in this choice" if form.narrowed else "")
    table.empty_text = "What falls due in eighteen months stands here, once for each day."
    paginate(table, request, per_page=OBLIGATIONS_A_PAGE)
    first, last = window(at)
    context = {"table": table, "form": form, "narrowed": form.narrowed, "number": found.total,
               "first": first, "last": last}  # fmt: skip
    return render(request, "inspections/planning_asked.html", context)


@require_safe
def week(request: HttpRequest, monday: str) -> HttpResponseBase:
    """What falls due in one week, each to be planned from here."""
    at = timezone.now()
    _, owed, visits, plans_in = _seen(request, at)
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
        plans_in=plans_in,
    )
    table.empty_head, table.empty_text = (
        "Nothing falls due in this week",
        "Other weeks stand on the planning page.",
    )
    planned = PlannedVisitTable(
        SortedInPages(standing(visits.select_related("structure__site__client"), days)), prefix="b-",
        head="Who goes", odd="goes",
        plans_in=plans_in, caption="Visits planned for this week", empty="No visit is planned for it",
    )  # fmt: skip
    found = by_week(owed, visits, at)
    own = next(one for one in found.weeks if one.monday == first)
    leaving, coming = _moving(found.flattened.proposals, first)
    proposed = ProposalTable([*leaving, *coming], prefix="p-")
    proposed.caption = "Proposals that take from this week, and that give to it"
    proposed.empty_head, proposed.empty_text = (
        "Nothing is proposed for this week",
        "What could be brought forward stands on the planning page.",
    )
    lists: tuple[tuple[tables.Table, str], ...] = (
        (table, "due in"), (planned, "visits planned for"), (proposed, "work to bring forward into or out of"),
    )  # fmt: skip
    for shown, name in lists:
        if file := as_file(request, shown, f"{name} the week from {first}", at=at, beside=["", "b-", "p-"]):
            return file
    paged(planned, request, OBLIGATIONS_A_PAGE)
    paginate(table, request, per_page=OBLIGATIONS_A_PAGE)
    last = first + timedelta(days=6)
    context = {
        "table": table,
        "planned": planned,
        "proposed": paged(proposed, request, ROWS_A_PAGE),
        "first": first,
        "last": last,
        "week": own,
        "leaving": sum(one.number for one in leaving),
        "coming": sum(one.number for one in coming),
        "without_at": asked_at(first, last, which="first", visit="without"),
        "with_at": asked_at(first, last, which="first", visit="with"),
    }
    return render(request, "inspections/planning_week.html", context)


def _moving(proposals: Sequence[Proposal], monday: date) -> tuple[list[Proposal], list[Proposal]]:
    """The proposals that take from a week, and those that give to it."""
    leaving = [one for one in proposals if monday_of(one.due) == monday]
    return leaving, [one for one in proposals if monday_of(one.on) == monday]
