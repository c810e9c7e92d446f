"""The six bases of counting: from one history of visits to the next due day and the reason for it.

A history is the ascending days of the visits that satisfy the rule's demand at one point. Three sentences
hold for every basis except before-use, which is due on its own day:

- without a visit the due day is `first_due`, else `adopted_from`;
- a due day is never before `adopted_from`;
- grace moves the consequence only: a visit in grace counts from the due day (rolling) or for the period it
  is late for (calendar period). 29 CFR 1919.18(c): "Grace periods shall not be deemed to extend subsequent
  due dates."

Where a rule has neither day and no visit has met it yet, an anniversary rule is due on its first
anniversary; a calendar period or a season is due at the end of the first one that ends on or after
`unseen_from`; rolling and calendar-month rules are due on `unseen_from` itself.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from collections.abc import Callable, Sequence
from datetime import date
from typing import NamedTuple

from inspections.rules.due_dates.calendar_arithmetic import (
    MONTH_NAMES,
    MONTHS_IN_PERIOD,
    add_days,
    add_months,
    in_words,
    last_day_of_month,
    month_end_after,
    period_end,
    period_index,
)
from inspections.rules.due_dates.facts import IntervalRule, given

Days = Sequence[date]


class Counted(NamedTuple):
    """A due day and the part of the sentence that says how it was counted.

    since: the day it is counted from; None where it is counted from none
    sums: the same as sums that anybody can do again, each a sentence without its full stop
    """

    due: date
    reason: str
    since: date | None = None
    sums: tuple[str, ...] = ()


def due_from(rule: IntervalRule, days: Days, *, unseen_from: date) -> Counted | None:
    """The rule's due day for one history; None when a before-use rule has been met.

    days: ascending days of the satisfying visits
    unseen_from: the day to count from where nothing else is recorded
    """
    if rule.basis == "before-use":
        return _before_use(rule, days)
    if not days:
        return _never_met(rule, unseen_from)
    return _not_before_adoption(rule, _COUNTING[rule.basis](rule, days))


def _never_met(rule: IntervalRule, unseen_from: date) -> Counted:
    if rule.first_due is not None:
        return _not_before_adoption(rule, Counted(rule.first_due, "the first due day set with the rule"))
    if rule.adopted_from is not None:
        return Counted(
            rule.adopted_from, "never done yet, so due from the day the rule was adopted", rule.adopted_from
        )
    if rule.basis == "anniversary":
        return _anniversary(rule, ())
    if rule.basis == "calendar-period":
        return _calendar_period(rule, (), unseen_from)
    if rule.basis == "season":
        return _season(rule, (), unseen_from)
    return Counted(unseen_from, "never done yet, and the rule has no first due day")


def _not_before_adoption(rule: IntervalRule, counted: Counted) -> Counted:
    adopted = rule.adopted_from
    if adopted is None or counted.due >= adopted:
        return counted
    reason = f"{counted.reason}, but not before the rule was adopted on {in_words(adopted)}"
    later = f"{in_words(counted.due)} lies before the adoption, so it is due on {in_words(adopted)}"
    return counted._replace(due=adopted, reason=reason, sums=(*counted.sums, later))


def _rolling(rule: IntervalRule, days: Days) -> Counted:
    """Months after the last visit; inside the early window or in grace, after the due day it met.

    A further visit never brings a due day forward that an earlier one has earned.
    """
    months = given(rule.months, "months")
    due = _clamped(rule, rule.first_due or rule.adopted_from)
    found, since, last = date.min, days[0], days[0]
    for day in days:
        met = due is not None and add_days(due, -rule.early_days) <= day <= add_days(due, rule.grace_days)
        start = due if met and due else day
        after = add_months(start, months)
        if after >= found:
            due = _clamped(rule, after)
            found, since, last = after, start, day
    reason = f"{_months(months)} after {_counted_from(since, last)}"
    sums = f"{in_words(since)} + {_months(months)} = {in_words(found)}"
    return Counted(found, reason, since, (*_taken_for(rule, since, last), sums))


def _taken_for(rule: IntervalRule, due: date, visit: date) -> tuple[str, ...]:
    """That a visit was taken for the due day it met, where that is another day."""
    if due == visit:
        return ()
    first, last = add_days(due, -rule.early_days), add_days(due, rule.grace_days)
    return (
        f"{in_words(visit)} lies from {in_words(first)} to {in_words(last)}, so that visit counts as done on "
        f"the due day {in_words(due)}",
    )


def _clamped(rule: IntervalRule, due: date | None) -> date | None:
    return max(due, rule.adopted_from) if due and rule.adopted_from else due


def _counted_from(start: date, visit: date) -> str:
    if start == visit:
        return f"the visit of {in_words(visit)}"
    window = "the early window" if visit < start else "grace"
    return f"the due day {in_words(start)}, which the visit of {in_words(visit)} met in {window}"


def _anniversary(rule: IntervalRule, days: Days) -> Counted:
    """The first day anchor + k · months, k at least 1, that lies after every visit's day + early_days."""
    anchor, months = given(rule.anchor, "anchor"), given(rule.months, "months")
    steps = 1
    if days:
        settled = add_days(days[-1], rule.early_days)
        elapsed = (settled.year - anchor.year) * 12 + settled.month - anchor.month
        steps = max(1, elapsed // months)
        while add_months(anchor, steps * months) <= settled:
            steps += 1
    due = add_months(anchor, steps * months)
    last = f"the visit of {in_words(days[-1])} met the days before" if days else "never done yet"
    sums = [f"{in_words(anchor)} + {steps} × {_months(months)} = {in_words(due)}"]
    if days:
        early = f" + {rule.early_days} days = {in_words(settled)}" if rule.early_days else ""
        sums.append(f"the first such day after the visit of {in_words(days[-1])}{early}")
    reason = f"every {_months(months)} counted from {in_words(anchor)}; {last}"
    return Counted(due, reason, days[-1] if days else anchor, tuple(sums))


def _calendar_month(rule: IntervalRule, days: Days) -> Counted:
    months = given(rule.months, "months")
    reason = f"the end of the month, {_months(months)} after the visit of {in_words(days[-1])}"
    due = month_end_after(days[-1], months)
    sums = f"the month of {in_words(days[-1])} + {_months(months)} ends on {in_words(due)}"
    return Counted(due, reason, days[-1], (sums,))


def _calendar_period(rule: IntervalRule, days: Days, unseen_from: date | None = None) -> Counted:
    """The last day of the first period without a visit, from the one that contains the day of adoption on.

    Without a day of adoption the first visit's period is the first. A period that was missed stays missed:
    a later visit counts for its own period. A visit in a missed period's grace counts for that one only.
    """
    period = given(rule.period, "period")
    length = MONTHS_IN_PERIOD[period]
    start = rule.adopted_from or (days[0] if days else unseen_from)
    index = period_index(given(start, "first day"), length)
    first = index
    seen = _periods_seen(days, index, length, rule.grace_days)
    while index in seen:
        index += 1
    name, due = _period_name(index, length), period_end(index, length)
    sums = f"from {_period_name(first, length)} on, {name} is the first without a visit; it ends on {in_words(due)}"
    since = add_months(period_end(index - 1, length).replace(day=1), 1)
    return Counted(due, f"once in each calendar {period}, and not yet in {name}", since, (sums,))


def _periods_seen(days: Days, first: int, length: int, grace_days: int) -> set[int]:
    seen: set[int] = set()
    for day in days:
        own = period_index(day, length)
        in_grace = range(max(first, period_index(add_days(day, -grace_days), length)), own)
        seen.add(next((period for period in in_grace if period not in seen), own))
    return seen


def _period_name(index: int, length: int) -> str:
    year, month = divmod(index * length, 12)
    if length == 12:
        return str(year)
    part = month // length + 1
    return f"quarter {part} of {year}" if length == 3 else f"half-year {part} of {year}"


def _season(rule: IntervalRule, days: Days, unseen_from: date | None = None) -> Counted:
    """The last day of the first season that ends after the last visit and does not contain it.

    Before the first visit: the first season that ends on or after unseen_from.
    """
    day = given(days[-1] if days else unseen_from, "first day")
    start, due = min(
        (_next_season(season, day, within=not days) for season in rule.seasons), key=lambda found: found[1]
    )
    after = f"after the visit of {in_words(days[-1])}" if days else "to come, never done yet"
    sums = f"the season {_span(start, due)} ends on {in_words(due)}"
    return Counted(
        due, f"the next season {after} is {_span(start, due)}", days[-1] if days else None, (sums,)
    )


def _next_season(season: Sequence[int], day: date, *, within: bool) -> tuple[date, date]:
    """First and last day of the season's next occurrence; within: the one that contains the day will do."""
    year = day.year if last_day_of_month(day.year, season[-1]) >= day else day.year + 1
    start, due = _season_ending_in(year, season)
    if start <= day and not within:
        return _season_ending_in(year + 1, season)
    return start, due


def _season_ending_in(year: int, season: Sequence[int]) -> tuple[date, date]:
    due = last_day_of_month(year, season[-1])
    return add_months(due.replace(day=1), 1 - len(season)), due


def _before_use(rule: IntervalRule, days: Days) -> Counted | None:
    """Due on the day of return to use, until a visit has met it.

    A visit counts from `early_days` before that day on; where no early days are given, from the day the
    rule was adopted; without either, from the day of return itself.
    """
    use_on = given(rule.use_on, "use_on")
    opens = add_days(use_on, -rule.early_days) if rule.early_days else rule.adopted_from or use_on
    if days and days[-1] >= max(opens, rule.adopted_from or opens):
        return None
    return _not_before_adoption(rule, Counted(use_on, f"before the return to use on {in_words(use_on)}"))


def _months(count: int) -> str:
    return "1 month" if count == 1 else f"{count} months"


def _span(start: date, due: date) -> str:
    """Jul 2026, Mar to May 2026, or Dec 2026 to Feb 2027."""
    first, last = MONTH_NAMES[start.month - 1], f"{MONTH_NAMES[due.month - 1]} {due.year}"
    if start.year != due.year:
        return f"{first} {start.year} to {last}"
    return last if start.month == due.month else f"{first} to {last}"


_COUNTING: dict[str, Callable[[IntervalRule, Days], Counted]] = {
    "rolling": _rolling,
    "anniversary": _anniversary,
    "calendar-month": _calendar_month,
    "calendar-period": _calendar_period,
    "season": _season,
}
