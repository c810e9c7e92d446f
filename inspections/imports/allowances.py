"""Days after events as data: within how many days of what happened an inspection is due, and by whose word."""

from typing import Any

from inspections.imports.editions import COMMON, Editions
from inspections.models import AllowanceAdoption, EventAllowance, EventKind
from sites.imports import Column, Faults, Row
from sites.imports.cells import one_of, whole
from sites.models import ImportKind

COLUMNS = (
    *COMMON,
    Column("kind", one_of("a kind of event", EventKind), True, True, "Say what happened."),
    Column("within_days", whole(0, 366), True, True, "Whole days, counted from the day it happened."),
)


class Allowances(Editions):
    """New editions of days after events. Events reported before keep the number they were given."""

    kind = ImportKind.ALLOWANCES
    columns = COLUMNS
    model = EventAllowance
    adoption = AllowanceAdoption
    adoption_field = "allowance"

    def own_facts(self, row: Row, faults: Faults) -> dict[str, Any]:
        return {"kind": row["kind"], "within_days": row["within_days"]}


__all__ = ["COLUMNS", "Allowances"]
