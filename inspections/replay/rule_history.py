"""Since when each rule stands on a structure, by whose adoption."""

from dataclasses import dataclass

from inspections.models import Adoption
from inspections.replay.facts import Detail, Place
from inspections.replay.rules_then import read_rules
from inspections.replay.status import fits
from inspections.rule_words import kinds_words
from sites.models import LogEntry


@dataclass(frozen=True, slots=True)
class Adopted:
    """One adoption of an edition.

    by: who entered it, or handed in its file; empty where nobody is named
    asks_of: of which classes and uses, empty for any; asks: whether the structure was one of them on the day
    """

    adoption: Adoption
    by: str
    holds: bool
    asks_of: str
    asks: bool


def history_of(place: Place, detail: Detail | None) -> list[Adopted]:
    """Every adoption of every edition that stands at the structure's place, in the order of the editions.

    detail: what the structure was like on the day; which editions ask of it changes with that, so all are shown
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
            by = str(adoption.by or people.get(adoption.recorded_at, ""))
            asks = detail is not None and fits(row, detail)
            found.append(Adopted(adoption, by, holds, kinds_words(row), asks))
    return found
