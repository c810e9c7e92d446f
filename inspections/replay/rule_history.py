"""Since when each rule stands on a structure, by whose adoption."""

from dataclasses import dataclass

from inspections.models import Adoption
from inspections.replay.facts import Place
from inspections.replay.rules_then import read_rules
from sites.models import LogEntry


@dataclass(frozen=True, slots=True)
class Adopted:
    """One adoption of an edition. by: who entered it, or handed in its file; empty where nobody is named"""

    adoption: Adoption
    by: str
    holds: bool


def history_of(place: Place) -> list[Adopted]:
    """Every adoption of every edition that stands at the structure's place, in the order of the editions.

    Which of them ask of it by what it is (its class, its use) changes with its description; all are shown.
    """
    book = read_rules([place.firm])
    editions = [
        row
        for row in book.editions
        if row.structure_id in (None, place.pk)
        and row.site_id in (None, place.site)
        and row.client_id in (None, place.client)
    ]
    moments = {one.recorded_at for row in editions for one in book.adoptions[row.pk]}
    entries = LogEntry.objects.filter(firm=place.firm, recorded_at__in=moments).select_related("person")
    people = {entry.recorded_at: str(entry.person) for entry in entries.order_by("-number") if entry.person}
    found = []
    for row in editions:
        for adoption in reversed(book.adoptions[row.pk]):
            adoption.interval = row
            holds = adoption is book.adoptions[row.pk][0]
            found.append(Adopted(adoption, str(adoption.by or people.get(adoption.recorded_at, "")), holds))
    return found
