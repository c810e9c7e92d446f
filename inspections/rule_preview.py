"""What adopting or ending an edition would change, reckoned by the due-date engine. Records nothing."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import islice
from typing import NamedTuple

from inspections.actions import due
from inspections.actions.due import Adopted
from inspections.actions.rules import Rule, require_last_day, siblings, stands_on
from inspections.models import DueDate, IntervalRule
from inspections.standing_words import standing_of
from sites.models import Structure

MOST_RECKONED = 2000
MOST_NAMED = 20
CHUNK = 500


class Change(NamedTuple):
    """The date that governs a structure, before and after; None where nothing is asked."""

    structure: Structure
    before: date | None
    after: date | None


@dataclass(slots=True)
class Effect:
    """on: the day asked about; left_out: how many structures were too many to reckon here

    overdue_before, overdue_after: how many obligations are overdue on that day without the act, and with it
    """

    on: date
    reckoned: int = 0
    left_out: int = 0
    overdue_before: int = 0
    overdue_after: int = 0
    earlier: list[Change] = field(default_factory=list)
    later: list[Change] = field(default_factory=list)
    begun: list[Change] = field(default_factory=list)
    ended: list[Change] = field(default_factory=list)

    @property
    def changed(self) -> list[Change]:
        return [*self.earlier, *self.later, *self.begun, *self.ended]

    @property
    def named(self) -> list[Change]:
        """The first of them."""
        return self.changed[:MOST_NAMED]

    @property
    def words(self) -> str:
        """3 structures get an earlier date, 2 a later one; 14 keep theirs."""
        told = []
        for rows, what in (
            (self.earlier, "an earlier date"),
            (self.later, "a later date"),
            (self.begun, "a date where nothing was asked before"),
        ):
            if rows:
                told.append(f"{_structures(len(rows))} {'gets' if len(rows) == 1 else 'get'} {what}")
        if self.ended:
            owe = "owes" if len(self.ended) == 1 else "owe"
            told.append(f"{_structures(len(self.ended))} {owe} nothing any more")
        kept = self.reckoned - len(self.changed)
        keep = f"{_structures(kept)} {'keeps its' if kept == 1 else 'keep their'} date"
        return f"{', '.join(told)}; {keep}." if told else f"No date changes: {keep}."

    @property
    def overdue_words(self) -> str:
        """4 obligations overdue instead of 5; empty where as many are. A date may stay while another author's goes."""
        if self.overdue_before == self.overdue_after:
            return ""
        what = "obligation" if self.overdue_after == 1 else "obligations"
        return f"{self.overdue_after} {what} overdue on that day instead of {self.overdue_before}."


def of_adopting(
    edition: Rule, adopted_from: date, *, at: datetime, adopted_until: date | None = None
) -> Effect:
    """If the edition applied from that day, and the others of its rule ended the day before."""
    supposing: dict[int, Adopted] = {edition.pk: (adopted_from, adopted_until)}
    last = adopted_from - timedelta(days=1)
    for other in _adopted_others(edition):
        if other.adopted_until is None or other.adopted_until > last:
            supposing[other.pk] = (min(other.adopted_from or last, last), last)
    return _effect([edition, *_adopted_others(edition)], supposing, max(adopted_from, at.date()), at)


def of_ending(edition: Rule, last_day: date, *, at: datetime) -> Effect:
    """If that were the last day it asks: as it stands on the day after. Raises: RuleRefused where it cannot be"""
    supposing: dict[int, Adopted] = {edition.pk: (require_last_day(edition, last_day, at), last_day)}
    return _effect([edition], supposing, last_day + timedelta(days=1), at)


def _adopted_others(edition: Rule) -> Iterable[Rule]:
    return siblings(edition).with_adoption().exclude(pk=edition.pk).filter(adopted_from__isnull=False)


def _effect(editions: list[Rule], supposing: Mapping[int, Adopted], on: date, at: datetime) -> Effect:
    found = Effect(on)
    intervals = [rule for rule in editions if isinstance(rule, IntervalRule)]
    ids = sorted({pk for rule in intervals for pk in stands_on(rule).values_list("pk", flat=True)})
    found.left_out, ids = max(len(ids) - MOST_RECKONED, 0), ids[:MOST_RECKONED]
    found.reckoned = len(ids)
    waiting = iter(ids)
    while chunk := list(islice(waiting, CHUNK)):
        without, with_it = (
            [row for rows in reckoned for row in rows]
            for reckoned in (
                due.reckon(chunk, at=at, on=on),
                due.reckon(chunk, at=at, on=on, supposing=supposing),
            )
        )
        found.overdue_before += _overdue(without, on)
        found.overdue_after += _overdue(with_it, on)
        before, after = _governing(without), _governing(with_it)
        for structure in Structure.objects.filter(pk__in=chunk).select_related("site__client"):
            _sort(found, Change(structure, before.get(structure.pk), after.get(structure.pk)))
    return found


def _governing(rows: Iterable[DueDate]) -> dict[int, date]:
    return {row.structure_id: row.due for row in rows if row.governs}


def _overdue(rows: Iterable[DueDate], on: date) -> int:
    return sum(standing_of(row, on).state == "overdue" for row in rows)


def _sort(found: Effect, change: Change) -> None:
    if change.before == change.after:
        return
    if change.before is None:
        found.begun.append(change)
    elif change.after is None:
        found.ended.append(change)
    else:
        (found.earlier if change.after < change.before else found.later).append(change)


def _structures(number: int) -> str:
    return "1 structure" if number == 1 else f"{number} structures"
