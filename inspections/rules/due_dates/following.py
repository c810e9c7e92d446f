"""The due days that follow one another when each is met on its day: what a plan for many months has to reckon with.

Units: civil days and whole months. Valid for days of the years 1 to 9999, at the site's own time zone. Source: this
product's rules for due days (common practice); calendar after ISO 8601.
"""

from dataclasses import replace
from datetime import date

from inspections.rules.due_dates.bases import due_from
from inspections.rules.due_dates.facts import IntervalRule


def following(rule: IntervalRule, met_on: date, until: date) -> list[date]:
    """The due days after one that is met on a day, each met on its own day in turn, up to `until`, which counts.

    Early window and grace change nothing here: nobody is early or late. A rule before use asks once.
    """
    plain = replace(rule, early_days=0, grace_days=0, first_due=None, adopted_from=None)
    last = min(until, rule.adopted_until or until)
    found, day = [], met_on
    while (counted := due_from(plain, (day,), unseen_from=day)) is not None and day < counted.due <= last:
        found.append(day := counted.due)
    return found
