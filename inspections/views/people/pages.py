"""The list of people, and one person with their dated history."""

import json
from datetime import date, datetime
from typing import Any

from allauth.mfa.models import Authenticator
from django import forms
from django.db.models import Prefetch, Q, QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from inspections import people_list
from inspections.people_list import Sight
from inspections.tables.people import PeopleTable, in_force, matrix
from sites import log_subjects
from sites.access import CHANGE_PEOPLE, MAY, firms_of, require
from sites.actions.signing import KINDS
from sites.exports.answer import as_file
from sites.forms.filters import FilterForm
from sites.models import (
    WHOLE_FIRM_ROLES,
    Authorisation,
    Firm,
    Invitation,
    LogEntry,
    Membership,
    Person,
    Role,
    Scope,
    VisitKind,
)
from sites.tables.paged import no_page, page_number, paginate
from sites.tables.sorting import SortedInPages
from sites.templatetags.downlead import day
from sites.views.signed_in import signed_in

PEOPLE_A_PAGE = 50
ENTRIES_A_PAGE = 20
CURRENT, EVERYBODY = "", "all"


class PeopleFilter(FilterForm):
    text = forms.CharField(
        label="Name", required=False, max_length=100, widget=forms.TextInput(attrs={"type": "search"})
    )
    role = forms.ChoiceField(choices=[("", "All roles"), *Role.choices], required=False)
    when = forms.ChoiceField(
        label="Who",
        choices=[(CURRENT, "With a role today"), (EVERYBODY, "Also former and future")],
        required=False,
    )


@require_safe
def people(request: HttpRequest) -> HttpResponseBase:
    """Everybody with a role today; on request also who had one or will have one."""
    at = timezone.now()
    sight = people_list.sight_of(signed_in(request), on=at.date())
    require(bool(sight.firms))
    wanted = PeopleFilter(request.GET)
    rows = _narrowed(sight, wanted)
    pages = SortedInPages(rows, lambda rows, start, stop: list(people_list.dressed(rows, sight)[start:stop]))
    table = PeopleTable(pages, sight=sight)
    if file := as_file(request, table, "people", at=at, narrowed_by=wanted):
        return file
    paginate(table, request, per_page=PEOPLE_A_PAGE)
    narrowed = wanted.narrowed
    table.empty_head = "Nobody matches these filters" if narrowed else "Nobody is entered"
    table.empty_text = "Part of a name is enough; former people stand under “Also former and future”."
    table.empty_link = ("Show all with a role today", reverse("people")) if narrowed else None
    context = {
        "table": table,
        "form": wanted,
        "narrowed": narrowed,
        "audits": bool(sight.audited),
        "may_change": _may_change(signed_in(request), at).exists(),
    }
    return render(request, "inspections/people/list.html", context)


def _narrowed(sight: Sight, wanted: PeopleFilter) -> QuerySet[Person]:
    told = wanted.told
    members = people_list.memberships_seen(sight)
    if told.get("when") != EVERYBODY:
        members = members.filter(Q(until__isnull=True) | Q(until__gte=sight.on), since__lte=sight.on)
    if told.get("role"):
        members = members.filter(role=told["role"])
    rows = Person.objects.filter(pk__in=members.values("person"))
    if told.get("text"):
        rows = rows.filter(name__icontains=told["text"])
    return rows.order_by("name", "pk")


def _may_change(person: Person, at: datetime) -> QuerySet:
    return firms_of(person, MAY[CHANGE_PEOPLE], on=at.date())


def found(request: HttpRequest, pk: int, at: datetime) -> tuple[Person, Sight]:
    """Somebody whom the person signed in may see; else 404."""
    sight = people_list.sight_of(signed_in(request), on=at.date())
    return get_object_or_404(people_list.people_seen(sight), pk=pk), sight


@require_safe
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """One person: roles, reach, authorisations, and what may be read of them in the log, newest first."""
    at = timezone.now()
    one, sight = found(request, pk, at)
    members = _members(one, sight)
    authorised = list(
        Authorisation.objects.filter(person=one, firm__in=sight.firms).order_by(
            "system_kind", "visit_kind", "since"
        )
    )
    firms = {row.firm_id for row in members}
    changes = _may_change(signed_in(request), at).filter(pk__in=firms)
    page = page_number(request, "history")
    entries = _history(one, members, authorised, firms & sight.firms, sight)
    start = (page - 1) * ENTRIES_A_PAGE
    shown = list(entries[start : start + ENTRIES_A_PAGE + 1])
    invitation = Invitation.objects.unended().filter(person=one, firm__in=changes).order_by("-pk").first()
    in_office = sight.contact_of(members)
    context = {
        "person": one,
        "members": [(row, in_force(row, sight.on), row.role in WHOLE_FIRM_ROLES) for row in members],
        "belongs": any(in_force(row, sight.on) for row in members),
        "contact": one.email if in_office else None,
        "in_office": in_office,
        "kinds": VisitKind.labels,
        "matrix": matrix(row for row in authorised if in_force(row, sight.on)),
        "authorised": [(row, in_force(row, sight.on)) for row in authorised],
        "may_change": changes.exists(),
        "invitation": invitation,
        "invitation_state": invitation.state(at) if invitation else "",
        "never_signed_in": in_office and one.email and not one.has_usable_password(),
        "factors": _factors(one, changes) if one != signed_in(request) else [],
        "history": [(entry, _told(entry)) for entry in shown[:ENTRIES_A_PAGE]],
        "older": page + 1 if len(shown) > ENTRIES_A_PAGE else None,
        "newer": page - 1 or None,
        "granted": bool(firms & sight.audited),
        "no_page": no_page(request, "history"),
        "today": sight.on,
    }
    return render(request, "inspections/people/person.html", context)


def _factors(one: Person, changes: QuerySet[Firm]) -> list[str]:
    """The kinds of second factors somebody has, for those who may take them away; else none.

    changes: the firms where the one who asks may change people; who belongs to another one too is not theirs to change
    """
    if not changes or Membership.objects.on(timezone.now().date()).filter(person=one).exclude(
        firm__in=changes
    ):
        return []
    theirs = set(Authenticator.objects.filter(user=one).values_list("type", flat=True))
    return [words for kind, words in KINDS.items() if kind in theirs]


def _told(entry: LogEntry) -> str:
    """What an entry says of a role or an authorisation, in words; its days with it."""
    facts: dict[str, Any] = json.loads(entry.payload).get("facts") or {}
    kinds = [str(facts[name]) for name in ("role", "system_kind", "visit_kind") if facts.get(name)]
    days = [
        f"{word} {day(date.fromisoformat(facts[name]))}"
        for name, word in (("since", "from"), ("until", "until"))
        if facts.get(name)
    ]
    words = [*kinds, " ".join(days)] if days else kinds
    return ", ".join([*words, str(facts["reason"])] if facts.get("reason") else words)


def _members(one: Person, sight: Sight) -> list[Membership]:
    """Roles that may be seen, with what each reaches or reached, as far as that may be seen."""
    reaches = people_list.scopes_seen(sight).select_related("client", "site__client").order_by("since", "pk")
    rows = people_list.memberships_seen(sight).filter(person=one).select_related("firm")
    return list(
        rows.prefetch_related(Prefetch("scopes", reaches, to_attr="reaches")).order_by("-since", "-pk")
    )


def _history(
    one: Person, members: list[Membership], authorised: list[Authorisation], firms: set[int], sight: Sight
) -> QuerySet[LogEntry]:
    """What the logs of these firms say of somebody, as far as the log itself may be read."""
    scopes: list[Scope] = [row for member in members for row in member.reaches]  # type: ignore[attr-defined]
    told = [one.identity, *(row.identity for row in (*members, *scopes, *authorised))]
    told += list(Invitation.objects.filter(person=one, firm__in=firms).values_list("identity", flat=True))
    rows = LogEntry.objects.filter(log_subjects.open_to(sight.person, firms, on=sight.on), subject__in=told)
    return rows.select_related("person").order_by("-recorded_at", "-number")
