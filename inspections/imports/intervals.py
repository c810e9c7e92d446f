"""Intervals as data: how often a demand must be met, for which classes and uses, and how the days are counted."""

from datetime import datetime
from typing import Any

from inspections.actions import due
from inspections.actions.rules import concerned
from inspections.imports import cells
from inspections.imports.editions import COMMON, Editions
from inspections.models import IntervalRule
from inspections.rules.interval_change import changes, longer
from sites.imports import Column, Faults, Row
from sites.imports.cells import day, one_of, whole, yes_no
from sites.models import Firm, ImportKind, ProtectionClass

DEMANDS = ("visual", "complete", "electrical")
PERIODS = ("year", "half-year", "quarter")
# What each way of counting needs, and nothing else takes.
NEEDS = {
    "rolling": ("months",),
    "anniversary": ("months", "anchor"),
    "calendar-month": ("months",),
    "calendar-period": ("period",),
    "season": ("seasons",),
    "before-use": ("use_on",),
}

COLUMNS = (
    *COMMON,
    Column("demand", one_of("a demand", DEMANDS), True, True, "Write visual, complete or electrical."),
    Column("basis", one_of("a way of counting", tuple(NEEDS)), True, True, "Such as rolling."),
    Column("months", whole(1, 600), True),
    Column("anchor", day, meaning="The day an anniversary is counted from."),
    Column("period", one_of("a calendar period", PERIODS)),
    Column("seasons", cells.seasons, meaning="Month numbers of each season: 3 4 5|9 10 11."),
    Column("use_on", day, meaning="The day of return to use."),
    Column(
        "early_days", whole(0, 366), meaning="Empty means 0. A season or a calendar period is its own window."
    ),
    Column("grace_days", whole(0, 366), meaning="Empty means 0."),
    Column("classes", cells.several("a protection class", ProtectionClass), meaning="I|II; empty means any."),
    Column("critical", yes_no, meaning="Empty where it does not matter."),
)


class Intervals(Editions):
    """New editions of intervals; due dates are reckoned again."""

    kind = ImportKind.INTERVALS
    columns = COLUMNS
    model = IntervalRule
    adoption_field = "interval"

    def check(self, firm: Firm, rows: list[Row], faults: Faults, *, at: datetime) -> None:
        super().check(firm, rows, faults, at=at)
        self._refuse_change(firm, faults)

    def _refuse_change(self, firm: Firm, faults: Faults) -> None:
        """A file cannot give the reason that a changed interval needs, nor the second person for a longer one."""
        brought = [
            rule for rule, since, _ in self._adopted if since is not None and isinstance(rule, IntervalRule)
        ]
        there = IntervalRule.objects.filter(firm=firm, code__in={rule.code for rule in brought})
        before: dict[tuple[Any, ...], IntervalRule] = {}
        for rule in there.with_adoption().filter(adopted_from__isnull=False).order_by("adopted_from", "pk"):
            before[rule.code, rule.place] = rule
        for rule in brought:
            old = before.get((rule.code, rule.place))
            if old is None or not changes(old, rule):
                continue
            clauses = "; ".join(longer(old, rule))
            said = (
                f"lets more time pass than edition {old.edition}: {clauses}"
                if clauses
                else (f"changes the interval of edition {old.edition}")
            )
            faults.add(
                self._lines[rule.code, rule.edition],
                "adopted_from",
                f"This {said}. Leave the day empty and adopt it on its page, with the reason.",
            )

    def own_facts(self, row: Row, faults: Faults) -> dict[str, Any]:
        basis = row["basis"]
        for column in ("months", "anchor", "period", "seasons", "use_on"):
            wanted = basis is None or column in NEEDS[basis]
            if row[column] is None and wanted and basis is not None and column not in row.bad:
                faults.add(row.line, column, f"Counting by “{basis}” needs it. Fill this cell.")
            if row[column] is not None and not wanted:
                faults.add(row.line, column, f"Counting by “{basis}” does not use it. Empty this cell.")
        return {
            "demand": row["demand"],
            "basis": basis,
            "months": row["months"],
            "anchor": row["anchor"],
            "period": row["period"] or "",
            "seasons": row["seasons"] or "",
            "use_on": row["use_on"],
            "early_days": row["early_days"] or 0,
            "grace_days": row["grace_days"] or 0,
            "classes": ",".join(str(one) for one in row["classes"] or ()),
            "critical": row["critical"],
        }

    def after(self, firm: Firm, rules: list[Any], *, at: datetime) -> None:
        everywhere = [rule for rule in rules if not (rule.client_id or rule.site_id or rule.structure_id)]
        structures: set[int] = set()
        for rule in everywhere[:1] or rules:
            structures.update(concerned(rule))
        due.refresh(sorted(structures), at=at)
