"""What is due."""

from datetime import date
from functools import partial
from typing import cast

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import due_list, next_list
from inspections.due_strip import strip
from inspections.filters import DueFilter
from inspections.tables.due import DueTable
from sites.access import PLAN, where_allowed
from sites.exports.answer import as_file
from sites.models import Client, Membership, Person, Structure
from sites.tables.paged import paginate
from sites.tables.sorting import SortedInPages

PER_PAGE = 50


@require_safe
def due(request: HttpRequest) -> HttpResponseBase:
    """Every obligation the person may see, the most pressing first, and what they must do next."""
    at = timezone.now()
    on = at.date()
    person = cast(Person, request.user)
    held = memberships(person, on)
    everything = due_list.owed_to(person, held, on=on)
    owed = due_list.with_today(everything, at)
    wanted = DueFilter(
        request.GET,
        owed,
        clients=Client.objects.visible_to(person, on=on),
        named=lambda text: due_list.with_today(
            due_list.named(everything, Structure.objects.visible_to(person, on=on), text), at
        ),
    )
    rows = wanted.qs
    week = wanted.week_chosen
    parts = [due_list.of_week(rows, week, at)] if week else due_list.sections(rows, wanted.state_chosen, at)
    pages = SortedInPages(
        parts,
        partial(due_list.slice_of, at=at),
        to_sort=lambda: parts[0] if week else due_list.whole(rows, wanted.state_chosen, at),
    )
    table = DueTable(pages, plans_in=where_allowed(held, PLAN))
    if file := as_file(request, table, "due", at=at, narrowed_by=wanted.form):
        return file
    paginate(table, request, per_page=PER_PAGE)
    overdue = due_list.counted(due_list.overdue(rows, at))
    soon = due_list.counted(due_list.due_soon(rows))
    narrowed = wanted.narrowed
    table.group_counts = {"Overdue": bounded(overdue)}
    table.empty_head, table.empty_text, table.empty_link = _empty(
        narrowed, wanted.state_chosen, sees_something=bool(held)
    )
    first_page = table.page.number == 1 and not narrowed and not table.sorted_by
    shown = {
        "filter": wanted,
        "form": wanted.form,
        "table": table,
        "overdue": overdue,
        "soon": soon,
        "overdue_words": bounded(overdue),
        "soon_words": bounded(soon),
        "narrowed": narrowed,
        "sees_something": bool(held),
        "steps": next_list.steps(person, held, owed, at, on=on) if first_page else [],
        "strip": strip(rows, at),
        "week": week,
        "kept": _kept(request),
    }
    return render(request, "inspections/due.html", shown)


def _kept(request: HttpRequest) -> str:
    """What the list is narrowed by besides its state and week, as the beginning of a query."""
    query = request.GET.copy()
    for name in ("state", "week", "page", "as"):
        query.pop(name, None)
    return f"?{query.urlencode()}&" if query else "?"


def memberships(person: Person, on: date) -> list[tuple[int, str]]:
    """(firm, role) of the memberships in force."""
    return list(Membership.objects.on(on).filter(person=person).values_list("firm_id", "role"))


def bounded(number: int) -> str:
    """A count that stops at ten thousand, in words."""
    return str(number) if number <= due_list.MOST_COUNTED else f"more than {due_list.MOST_COUNTED:,}"


def _empty(narrowed: bool, state: str, *, sees_something: bool) -> tuple[str, str, tuple[str, str] | None]:
    if not sees_something:
        return (
            "No record is open to you today",
            "A role has its first and its last day, and none of yours holds today. "
            "Whoever invited you, or your firm’s quality manager, can say so or give you another.",
            None,
        )
    if state == "book":
        return (
            "Nothing is to be booked here",
            "Whatever is overdue or falls due within 13 weeks has a visit planned that would settle it.",
            ("Show all that run", reverse("due")),
        )
    if narrowed:
        return (
            "Nothing matches these filters",
            "Other obligations may be there: take a filter away.",
            ("Show all that run", reverse("due")),
        )
    return (
        "No obligation is recorded here",
        "Due dates come from the interval rules that your firm has adopted and from visits and events. "
        "A structure that no rule applies to owes nothing and stands only under Sites.",
        ("Look at the sites", reverse("sites")),
    )
