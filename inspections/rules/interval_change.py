"""What a new edition of an interval changes, whether it lets more time pass, and whether a reason is one.

Pure decisions about words and numbers. Units: months and days, as the rules name them. Valid for two editions of one
rule, and for reasons in English. Source: this product's rules (common practice, no published source).
"""

import re
import unicodedata
from datetime import date
from difflib import SequenceMatcher
from typing import Protocol

NOMINAL = {"year": 12, "half-year": 6, "quarter": 3}
# A basis further right may let more time pass between two inspections at the same number of months: to the end of
# a month, to the end of a period, once in a season.
LOOSENESS = ("rolling", "anniversary", "calendar-month", "season", "calendar-period", "before-use")
CLOSE_ENOUGH = 0.78


EARLY_COUNTS = ("rolling", "anniversary", "before-use")
"""Where the early window decides what a visit counts for; a calendar period and a season are their own window."""
ASKED_OF = ("client_id", "site_id", "structure_id", "critical", "explosion_risk")
COUNTED_BY = (
    "demand",
    "basis",
    "months",
    "anchor",
    "period",
    "seasons",
    "use_on",
    "early_days",
    "grace_days",
    "classes",
)


class Interval(Protocol):
    """The columns of an interval that say how much time may pass, and of what it asks."""

    basis: str
    months: int | None
    anchor: date | None
    period: str
    seasons: str
    use_on: date | None
    early_days: int
    grace_days: int
    demand: str
    classes: str
    critical: bool | None
    explosion_risk: bool | None
    client_id: int | None
    site_id: int | None
    structure_id: int | None


def changes(old: Interval, new: Interval) -> bool:
    """Whether anything differs that decides when something is due, or of which structures it is asked."""
    return any(getattr(old, name) != getattr(new, name) for name in (*COUNTED_BY, *ASKED_OF))


def nominal_months(rule: Interval) -> float | None:
    """The number of months a rule names, or its share of a year; None for before use, which names none."""
    if rule.months is not None:
        return rule.months
    if rule.period:
        return NOMINAL[rule.period]
    if rule.seasons:
        return 12 / len(rule.seasons.split(";"))
    return None


def longer(old: Interval, new: Interval) -> list[str]:
    """What of the new edition lets more time pass than the old one, a clause each; empty where nothing does."""
    found = []
    was, is_ = nominal_months(old), nominal_months(new)
    if is_ is None and was is not None:
        found.append("it no longer names a number of months")
    elif was is not None and is_ is not None and is_ > was:
        found.append(f"{is_:g} months instead of {was:g}")
    elif was == is_ and LOOSENESS.index(new.basis) > LOOSENESS.index(old.basis):
        found.append(f"counted by {new.basis} instead of {old.basis}")
    if new.grace_days > old.grace_days:
        found.append(f"{new.grace_days} days of grace instead of {old.grace_days}")
    if new.early_days > old.early_days and new.basis in EARLY_COUNTS:
        found.append(f"{new.early_days} days of early window instead of {old.early_days}")
    if new.demand not in (old.demand, "complete"):
        found.append(f"{new.demand} instead of {old.demand}")
    if _narrower(old, new):
        found.append("it no longer asks of every structure it asked of")
    return found


def _narrower(old: Interval, new: Interval) -> bool:
    """Whether a structure of which the old one asked may be left out by the new one."""
    classes = set(new.classes.split(",")) if new.classes else None
    if classes is not None and not (old.classes and set(old.classes.split(",")) <= classes):
        return True
    return any(getattr(new, name) not in (None, getattr(old, name)) for name in ASKED_OF)


MEANS = (
    "staff", "staffing", "personnel", "people", "persons", "person", "manpower", "workforce", "workers", "inspector",
    "inspectors", "engineers", "crew", "team", "hands", "colleagues", "capacity", "resources", "resource", "headcount",
    "money", "fund", "funds", "funding", "budget", "budgets", "cash", "cost", "costs", "finance", "finances",
    "financial", "expense", "expenses", "expensive", "savings", "saving",
)  # fmt: skip
NO_MEANS = frozenset({"coast", "coastal", "screw", "screws"})
"""Words that look like one of them and are something else."""
_FILLER = """
a about an and any are as at available be because been but by cannot cant costly cut cuts cutting current currently
due enough few for from get had has have high i in insufficient is issue issues it its just lack lacking lacks left
limited little low missing more much need no none nor not now of on only or our out problem problems reason reasons
save short shortage shortages so some sorry spare that the them there these they this tight to too unavailable us
want was we were with without
"""
FILLER = frozenset(_FILLER.split())
LETTERS = re.compile(r"[a-z]+")


def names_only_want_of_means(reason: str) -> bool:
    """Whether a reason says nothing but that staff or money is wanting, also where it is spelled nearly so.

    >>> names_only_want_of_means("No staf!"), names_only_want_of_means("Two years of readings show no change.")
    (True, False)
    """
    plain = unicodedata.normalize("NFKD", reason.casefold().replace("’", "").replace("'", ""))
    plain = "".join(each for each in plain if not unicodedata.combining(each))
    words = [word for word in LETTERS.findall(plain) if word not in FILLER]
    joined = "".join(LETTERS.findall(plain))
    if words and all(len(word) == 1 for word in LETTERS.findall(plain)):
        words = [joined.removeprefix("no")]
    return bool(words) and all(_is_means(word) for word in words)


def _is_means(word: str) -> bool:
    if word in NO_MEANS:
        return False
    bare = word.removeprefix("no") if word.startswith("no") and len(word) > 5 else word
    return any(
        each in MEANS or any(SequenceMatcher(None, each, known).ratio() >= CLOSE_ENOUGH for known in MEANS)
        for each in {word, bare}
        if len(each) > 2
    )
