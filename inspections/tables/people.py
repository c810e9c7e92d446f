"""The list of people: roles, what they reach, and what they are authorised for."""

from collections.abc import Iterable
from datetime import date
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inspections import people_list
from inspections.people_list import Sight
from sites.exports.columns import InFile
from sites.models import WHOLE_FIRM_ROLES, Authorisation, Membership, Scope, SystemKind, VisitKind
from sites.tables.sorting import Column, Natural
from sites.templatetags.downlead import day, when

WHOLE_FIRM = "the whole firm"
NOTHING = "nothing"
NOT_AUTHORISED = "for no kind of visit"


class PeopleTable(tables.Table):
    """Takes people from ``people_list.dressed``."""

    name = Column("Person", by=Natural("name"))
    roles = Column(
        "Roles", by=lambda table: (people_list.first_role(table.sight), Natural("name")), empty_values=()
    )
    reaches = Column("Reaches", empty_values=())
    authorised = Column("Authorised to inspect", empty_values=())
    until = Column(
        "Next end", by=lambda table: (people_list.next_end(table.sight), Natural("name")), empty_values=()
    )

    row_head = "name"
    caption = "People with their roles"

    def __init__(self, *args: Any, sight: Sight, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sight = sight

    def in_file(self) -> InFile:
        return {
            "name": (("Person", "name"), ("E-mail address", self._contact)),
            "roles": (
                ("Roles", lambda row: "; ".join(role_words(one) for one in self._current(row)) or None),
            ),
            "reaches": (("Reaches", lambda row: "; ".join(self._reached(row)) or None),),
            "authorised": (
                ("Authorised to inspect", lambda row: "; ".join(authorised_lines(row.held)) or None),
            ),
            "until": (("Next end", self._next_end),),
        }

    def _current(self, person: Any) -> list[Membership]:
        return [one for one in person.members if in_force(one, self.sight.on)]

    def _contact(self, person: Any) -> str | None:
        return person.email if self.sight.contact_of(person.members) else None

    def _reached(self, person: Any) -> list[str]:
        found: dict[str, None] = {}
        for member in self._current(person):
            found.update(dict.fromkeys(reach_words(member, member.reaches)))  # type: ignore[attr-defined]
        return list(found)

    def _next_end(self, person: Any) -> date | None:
        dated = [*self._current(person), *person.held]
        return min((row.until for row in dated if row.until), default=None)

    def render_name(self, record: Any) -> SafeString:
        contact = self._contact(record)
        below = format_html('<span class="second">{}</span>', contact) if contact else ""
        return format_html('<a href="{}">{}</a>{}', reverse("person", args=[record.pk]), record.name, below)

    def render_roles(self, record: Any) -> SafeString | str:
        current = self._current(record)
        return _lines(role_words(one) for one in current) if current else "none on this day"

    def render_reaches(self, record: Any) -> SafeString | str:
        return _lines(self._reached(record)) or NOTHING

    def render_authorised(self, record: Any) -> SafeString | str:
        return _lines(authorised_lines(record.held)) or NOT_AUTHORISED

    def render_until(self, record: Any) -> SafeString | str:
        found = self._next_end(record)
        return when(found) if found else "none"


def in_force(row: Membership | Scope | Authorisation, on: date) -> bool:
    """Both end days count."""
    return row.since <= on and (row.until is None or row.until >= on)


def role_words(row: Membership) -> str:
    """The role, and its last day where it has one."""
    return f"{row.get_role_display()} until {day(row.until)}" if row.until else row.get_role_display()


def reach_words(member: Membership, reaches: Iterable[Scope]) -> list[str]:
    """What a role reaches on the day, in words."""
    if member.role in WHOLE_FIRM_ROLES:
        return [WHOLE_FIRM]
    return [place_words(row) for row in reaches]


def place_words(row: Scope) -> str:
    return f"{row.site.client} › {row.site}" if row.site else str(row.client)


def authorised_lines(held: Iterable[Authorisation]) -> list[str]:
    """A line for each kind of system: the kinds of visit."""
    kinds: dict[str, dict[str, None]] = {}
    for row in held:
        kinds.setdefault(row.system_kind, {})[row.get_visit_kind_display()] = None
    every = len(VisitKind.values)
    return [
        f"{system}: {'every kind of visit' if len(visits) == every else ', '.join(visits)}"
        for system, visits in kinds.items()
    ]


def matrix(held: Iterable[Authorisation]) -> list[tuple[str, list[str]]]:
    """Kind of system by kind of visit: until when, “open” without a last day, “no” where there is none."""
    until: dict[tuple[str, str], list[date | None]] = {}
    for row in held:
        until.setdefault((row.system_kind, row.visit_kind), []).append(row.until)
    return [
        (system.label, [_until(until.get((system.value, visit.value))) for visit in VisitKind])
        for system in SystemKind
    ]


def _until(ends: list[date | None] | None) -> str:
    if ends is None:
        return "no"
    dated = [end for end in ends if end is not None]
    return day(max(dated)) if len(dated) == len(ends) else "open"


def _lines(words: Iterable[str]) -> SafeString:
    return format_html_join("", '<span class="d-block">{}</span>', ((one,) for one in words))
