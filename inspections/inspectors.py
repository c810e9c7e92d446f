"""Who of a firm may be sent to a structure."""

from collections.abc import Iterable
from datetime import date, datetime

from sites.actions.register import shown
from sites.models import Authorisation, Membership, Person, Role, Structure, VisitKind


def inspectors_of(structure: Structure, at: datetime) -> list[tuple[Person, str]]:
    """The firm's inspectors who are authorised for at least one kind of visit to all of the structure's systems.

    Returns: each person with words saying for which kinds of visit and until when
    """
    firm, today = structure.site.client.firm_id, at.date()
    members = Membership.objects.on(today).filter(firm=firm, role=Role.INSPECTOR).values("person")
    people = Person.objects.filter(pk__in=members, is_active=True).order_by("name", "pk")
    systems = set(structure.systems.values_list("kind", flat=True))
    held: dict[int, dict[str, dict[str, date | None]]] = {}
    for row in Authorisation.objects.on(today).filter(firm=firm, person__in=people):
        held.setdefault(row.person_id, {}).setdefault(row.get_visit_kind_display(), {})[row.system_kind] = (
            row.until
        )
    found = []
    for person in people:
        kinds = {kind: rows for kind, rows in held.get(person.pk, {}).items() if systems <= set(rows)}
        if kinds or not systems:
            found.append((person, _words(person, kinds)))
    return found


def _words(person: Person, kinds: dict[str, dict[str, date | None]]) -> str:
    until = {kind: _until(rows.values()) for kind, rows in sorted(kinds.items())}
    if not until:
        return person.name
    if set(VisitKind.labels) <= set(until) and len(set(until.values())) == 1:
        said = f"every kind of visit{until.popitem()[1]}"
    else:
        said = "; ".join(f"{kind}{ends}" for kind, ends in until.items())  # a kind may have a comma in it
    return f"{person.name}; authorised for: {said}"


def _until(ends: Iterable[date | None]) -> str:
    """The earliest end among those there are."""
    dated = [end for end in ends if end is not None]
    return f" until {shown(min(dated))}" if dated else ""
