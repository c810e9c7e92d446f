"""The rules of a firm with every adoption of theirs, and which of them stood when, as known by a moment."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple, cast

from inspections.models import Adoption, Dispensation, IntervalRule, season_months
from inspections.replay.knowledge import is_known
from inspections.rules import due_dates

Adopted = tuple[date | None, date | None]
"""First and last day of an adoption; no first day where there is none, no last day while it is open."""


class RuleThen(NamedTuple):
    """A rule as adopted by a moment: the edition, and how it is counted."""

    row: IntervalRule
    counted: due_dates.IntervalRule


@dataclass(slots=True)
class RulesThen:
    """The rules adopted by a moment, by where they stand: everywhere, or at one client, site or structure."""

    everywhere: list[RuleThen] = field(default_factory=list)
    client: dict[int, list[RuleThen]] = field(default_factory=lambda: defaultdict(list))
    site: dict[int, list[RuleThen]] = field(default_factory=lambda: defaultdict(list))
    structure: dict[int, list[RuleThen]] = field(default_factory=lambda: defaultdict(list))

    def at(self, *, client: int, site: int, structure: int) -> list[RuleThen]:
        """Those that may stand on a structure, in the order of their editions."""
        found = list(self.everywhere)
        for narrower, key in ((self.client, client), (self.site, site), (self.structure, structure)):
            if key in narrower:
                found += narrower[key]
        return sorted(found, key=lambda rule: rule.row.pk) if len(found) > len(self.everywhere) else found


@dataclass(slots=True)
class RuleBook:
    """Every edition of some firms' intervals with all adoptions, the one recorded last first.

    supposing: adoptions by the edition's id, as they might be instead of as they are
    """

    firms: set[int]
    editions: list[IntervalRule]
    adoptions: dict[int, list[Adoption]]
    supposing: Mapping[int, Adopted] = field(default_factory=dict)
    dispensations: dict[int, list[Dispensation]] = field(default_factory=dict)
    _then: dict[tuple[int, datetime | None], RulesThen] = field(default_factory=dict)

    def adoption_of(self, edition: int, before: datetime | None) -> Adoption | None:
        """The adoption that held by a moment: of those known, the one recorded last."""
        return next((row for row in self.adoptions[edition] if is_known(row.recorded_at, before)), None)

    def dispensations_at(
        self,
        rules: Iterable[RuleThen],
        *,
        client: int,
        site: int,
        structure: int,
        day: date,
        before: datetime | None,
    ) -> list[due_dates.Dispensation]:
        """What the authors of these rules had allowed at a structure by a day, as known by a moment."""
        return [
            due_dates.Dispensation(rule.counted.id, row.until, row.document, row.recorded_at)
            for rule in rules
            for row in self.dispensations.get(rule.row.pk, ())
            if row.given_on <= day
            and row.reaches(client=client, site=site, structure=structure)
            and row.was_known(before)
        ]

    def then(self, firm: int, before: datetime | None) -> RulesThen:
        """The rules of a firm as known by a moment."""
        key = firm, before
        if key not in self._then:
            self._then[key] = self._reckon(firm, before)
        return self._then[key]

    def _reckon(self, firm: int, before: datetime | None) -> RulesThen:
        found = RulesThen()
        for row in self.editions:
            if row.firm_id != firm or not is_known(row.recorded_at, before):
                continue
            adopted_from, adopted_until = self._days(row, before)
            if adopted_from is None:
                continue
            rule = RuleThen(row, counted(row, adopted_from, adopted_until))
            if row.structure_id:
                found.structure[row.structure_id].append(rule)
            elif row.site_id:
                found.site[row.site_id].append(rule)
            elif row.client_id:
                found.client[row.client_id].append(rule)
            else:
                found.everywhere.append(rule)
        return found

    def _days(self, row: IntervalRule, before: datetime | None) -> Adopted:
        if row.pk in self.supposing:
            return self.supposing[row.pk]
        held = self.adoption_of(row.pk, before)
        return (held.adopted_from, held.adopted_until) if held else (None, None)


def read_rules(firms: Iterable[int], supposing: Mapping[int, Adopted] | None = None) -> RuleBook:
    """Every interval rule of some firms with its adoptions and dispensations, in three queries."""
    editions = list(IntervalRule.objects.filter(firm__in=set(firms)).order_by("pk"))
    adoptions: dict[int, list[Adoption]] = defaultdict(list)
    rows = (
        Adoption.objects.filter(interval__firm__in=set(firms))
        .select_related("by")
        .order_by("-recorded_at", "-pk")
    )
    for row in rows:
        adoptions[cast(int, row.interval_id)].append(row)
    given: dict[int, list[Dispensation]] = defaultdict(list)
    allowed = Dispensation.objects.filter(interval__firm__in=set(firms)).select_related("withdrawal")
    for one in allowed.order_by("pk"):
        given[one.interval_id].append(one)
    return RuleBook(set(firms), editions, adoptions, supposing or {}, given)


def counted(
    rule: IntervalRule, adopted_from: date | None = None, adopted_until: date | None = None
) -> due_dates.IntervalRule:
    """The rule as it is counted. Raises: ValueError where it contradicts itself"""
    return due_dates.IntervalRule(
        id=str(rule.pk),
        demand=cast(due_dates.Demand, rule.demand),
        basis=cast(due_dates.Basis, rule.basis),
        months=rule.months,
        anchor=rule.anchor,
        period=cast(due_dates.Period, rule.period) if rule.period else None,
        seasons=season_months(rule.seasons),
        use_on=rule.use_on,
        early_days=rule.early_days,
        grace_days=rule.grace_days,
        adopted_from=adopted_from,
        adopted_until=adopted_until,
        recorded=rule.recorded_at,
        name=rule.author_name,
    )
