"""What the rules ask for: each point's and each part's own due day, gathered to one row per rule and due day.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Mapping, Sequence
from datetime import date

from inspections.rules.due_dates.asking import Asked, days_met, last_left_on, left_out, what_is_left
from inspections.rules.due_dates.bases import Counted, due_from
from inspections.rules.due_dates.calendar_arithmetic import add_days, in_words
from inspections.rules.due_dates.coverage import (
    SATISFIED_BY,
    DayCovered,
    History,
    Inventory,
    histories,
    satisfying,
)
from inspections.rules.due_dates.facts import ASKED_FOR, Dispensation, IntervalRule


def asked_by_rule(
    rule: IntervalRule,
    visits: Sequence[DayCovered],
    owed: Inventory,
    dispensation: Dispensation | None,
    on: date,
) -> list[Asked]:
    """One row per due day. Nothing before the rule is adopted: a new edition changes nothing until then.

    visits: all up to `on`, by ascending day; owed: what its demand looks at
    Points and parts never covered, where the rule has no first day, count from the first visit that left them,
    else from `on`.
    """
    if rule.adopted_from is not None and on < rule.adopted_from:
        return []
    counting = satisfying(visits, SATISFIED_BY[rule.demand])
    unseen_from = counting[0].day if counting else on
    by_due: dict[date, tuple[Counted, list[History]]] = {}
    for history in histories(counting, owed):
        counted = due_from(rule, history.days, unseen_from=unseen_from)
        if counted is not None:
            by_due.setdefault(counted.due, (counted, []))[1].append(history)
    return [_row(rule, counted, found, owed, dispensation) for counted, found in by_due.values()]


def _row(
    rule: IntervalRule,
    counted: Counted,
    found: Sequence[History],
    owed: Inventory,
    dispensation: Dispensation | None,
) -> Asked:
    """A dispensation moves the consequence as grace does: the due day stays, overdue begins after `until`."""
    why = f"{ASKED_FOR[rule.demand].capitalize()} by {rule.name or f'rule {rule.id}'}: {counted.reason}."
    why += left_out(found)
    grace_until, allowed_until = add_days(counted.due, rule.grace_days), None
    sums = counted.sums
    if rule.grace_days:
        sums += (f"{in_words(counted.due)} + {rule.grace_days} days of grace = {in_words(grace_until)}",)
    if dispensation is not None and dispensation.until > grace_until:
        grace_until = allowed_until = dispensation.until
        why += f" The rule's author allows until {in_words(grace_until)} ({dispensation.document})."
    left = what_is_left(found, owed)
    return Asked(
        rule.id, rule.demand, left, counted.due, grace_until, why, rule.adopted_until, allowed_until,
        counted.since, sums, days_met(found), last_left_on(found),
    )  # fmt: skip


def latest_dispensations(dispensations: Sequence[Dispensation]) -> Mapping[str, Dispensation]:
    """For each rule the dispensation that reaches furthest; of equal ones the first given."""
    latest: dict[str, Dispensation] = {}
    for dispensation in dispensations:
        known = latest.get(dispensation.rule)
        if known is None or dispensation.until > known.until:
            latest[dispensation.rule] = dispensation
    return latest
