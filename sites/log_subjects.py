"""What log entries are about: where a subject stands, whether it lies within somebody's grant, its page and its name.

A subject is placed by the required relations of its model that lead to a client or a site, so that a new kind is placed
by itself or not at all. What cannot be placed lies within no grant.
"""

from collections import deque
from collections.abc import Iterable, Sequence
from datetime import date
from functools import cache
from typing import NamedTuple
from uuid import UUID

from django.apps import apps
from django.db.models import ForeignKey, Model, Q, QuerySet
from django.urls import NoReverseMatch, reverse

from sites.access import firms_of
from sites.log import kind_of
from sites.models import WHOLE_FIRM_ROLES, Client, Firm, LogEntry, Person, Site
from sites.navigation import ONLY_FOR

# Kinds whose place stands in relations that not every row of theirs has.
OPTIONAL_PLACES: dict[str, tuple[str, ...]] = {
    "register.scope": ("site", "client"),
    "register.importedfile": ("readings__visit__structure__site",),
}


class Page(NamedTuple):
    """The page of a kind: the name of its address, the path from the subject to what stands in that, and to what the
    subject is called among others of its kind."""

    address: str
    key: str
    called: str


PAGES: dict[str, Page] = {
    "register.site": Page("site", "pk", "name"),
    "register.structure": Page("structure", "pk", "name"),
    "register.system": Page("structure", "structure", "name"),
    "register.part": Page("structure", "structure", "name"),
    "register.testpoint": Page("point", "pk", "number"),
    "register.person": Page("person", "pk", "name"),
    "register.membership": Page("person", "person", "person__name"),
    "register.scope": Page("person", "membership__person", "membership__person__name"),
    "register.authorisation": Page("person", "person", "person__name"),
    "register.invitation": Page("person", "person", "person__name"),
    "register.document": Page("document", "pk", "title"),
    "inspections.visit": Page("visit", "pk", "number"),
    "inspections.defect": Page("defect", "pk", "place"),
    "inspections.event": Page("structure", "structure", "structure__name"),
    "inspections.suspension": Page("structure", "structure", "structure__name"),
    "inspections.instrument": Page("instrument", "pk", "serial"),
    "reports.issue": Page("report", "pk", "number"),
}


class Subject(NamedTuple):
    """address: of its page; called: its name as it is now"""

    address: str
    called: str


class Place(NamedTuple):
    """path: from the subject to a client or a site; "" where it is one itself"""

    path: str
    of: type[Model]


@cache
def kinds() -> dict[str, type[Model]]:
    """Every model whose rows have an identity, by what the log calls it."""
    found = [
        model for model in apps.get_models() if any(f.name == "identity" for f in model._meta.get_fields())
    ]
    return {kind_of(model): model for model in found}


@cache
def places_of(model: type[Model]) -> tuple[Place, ...]:
    """The ways from a subject to its client or site: the shortest over required relations, or the optional ones."""
    if model in (Client, Site):
        return (Place("", model),)
    if optional := OPTIONAL_PLACES.get(model._meta.label_lower):
        return tuple(Place(path, Client if path.endswith("client") else Site) for path in optional)
    waiting: deque[tuple[type[Model], str]] = deque([(model, "")])
    met = {model}
    while waiting:
        here, path = waiting.popleft()
        for field in here._meta.get_fields():
            if not isinstance(field, ForeignKey) or field.null:
                continue
            there, step = field.related_model, f"{path}{field.name}"
            if there in (Client, Site):
                return (Place(step, there),)
            if there not in met and isinstance(there, type):
                met.add(there)
                waiting.append((there, f"{step}__"))
    return ()


def followed_by(person: Person, *, on: date) -> QuerySet[Firm]:
    """The firms whose log the person may follow on that day; of what lies outside their grant, the hashes."""
    return firms_of(person, ONLY_FOR["log"], on=on)


def within(person: Person, *, on: date) -> Q:
    """Of log entries: those whose subject lies where the person may look on that day, and their own acts."""
    seen = {
        Client: Client.objects.visible_to(person, on=on).values("pk"),
        Site: Site.objects.visible_to(person, on=on).values("pk"),
    }
    found = Q(person=person)
    for kind, model in kinds().items():
        for place in places_of(model):
            path = f"{place.path}__in" if place.path else "pk__in"
            rows = model._default_manager.order_by().filter(**{path: seen[place.of]})  # type: ignore[index]
            found |= Q(subject_kind=kind, subject__in=rows.values("identity"))
    return found


def open_to(person: Person, firms: Iterable[int], *, on: date) -> Q:
    """Of log entries of some firms (ids): those that the person may read, and not the hashes alone.

    All where they see the whole firm, else those within their grant.
    """
    wanted = set(firms)
    whole = set(firms_of(person, WHOLE_FIRM_ROLES, on=on).filter(pk__in=wanted).values_list("pk", flat=True))
    found = Q(firm__in=whole)
    if part := wanted - whole:
        found |= Q(firm__in=part) & within(person, on=on)
    return found


def opened(entries: Sequence[LogEntry], person: Person, *, on: date) -> set[int]:
    """Ids of those entries that the person may read."""
    rows = LogEntry.objects.filter(pk__in=[entry.pk for entry in entries])
    rows = rows.filter(open_to(person, {entry.firm_id for entry in entries}, on=on))
    return set(rows.order_by().values_list("pk", flat=True))


def subjects(entries: Iterable[LogEntry]) -> dict[UUID, Subject]:
    """The page and the name of each subject that has a page, in one query a kind."""
    asked: dict[str, set[UUID]] = {}
    for entry in entries:
        asked.setdefault(entry.subject_kind, set()).add(entry.subject)
    found: dict[UUID, Subject] = {}
    for kind, identities in asked.items():
        model = kinds().get(kind)
        page = PAGES.get(model._meta.label_lower) if model else None
        if model is None or page is None or not _exists(page.address):
            continue
        rows: QuerySet = model._default_manager.order_by().filter(identity__in=identities)
        for identity, key, called in rows.values_list("identity", page.key, page.called):
            found[identity] = Subject(reverse(page.address, args=[key]), str(called))
    return found


def _exists(name: str) -> bool:
    try:
        reverse(name, args=[1])
    except NoReverseMatch:
        return False
    return True
