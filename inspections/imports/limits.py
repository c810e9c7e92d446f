"""Limits as data: for each kind of point the upper limit, and how it is to be read and decided."""

from decimal import Decimal
from typing import Any

from inspections.imports import cells
from inspections.imports.editions import COMMON, Editions
from inspections.models import LimitRule
from inspections.rules.judging.facts import DECISIONS, METHODS
from sites.imports import Column, Faults, Row
from sites.imports.cells import between, one_of, whole
from sites.models import ImportKind, Quantity

NO_LIMIT = "none"
AS_FOUND = "as found"

COLUMNS = (
    *COMMON,
    Column("quantity", one_of("what is measured at a point", Quantity), True, True, "Say what it limits."),
    Column(
        "limit",
        cells.or_word(NO_LIMIT, cells.resistance_as_written(40)),
        True,
        True,
        "Such as 20 mΩ, or none where the source states that no limit applies.",
    ),
    Column(
        "times_per_electrode",
        between(0, 100, "The factor"),
        meaning="Where the limit is the whole earth's: one of n electrodes may come to this times n times it. "
        "Empty where the limit is that of what is read.",
    ),
    Column(
        "reference_temperature",
        cells.or_word(AS_FOUND, cells.metal_temperature),
        True,
        True,
        "Such as 20 °C, or as found.",
    ),
    Column(
        "decision", one_of("a decision rule", DECISIONS), True, True, "Write simple, guarded or four-way."
    ),
    Column(
        "guard",
        between(0, 10, "The guard"),
        meaning="w = guard · U, for the guarded decision; empty means 1.",
    ),
    Column(
        "methods", cells.several("a method", METHODS), meaning="four-wire|two-wire; empty where any will do."
    ),
    Column(
        "minimum_current", cells.above_zero("current"), meaning="Such as 10 A; empty where none is asked."
    ),
    Column("repeats", whole(1, 50), meaning="Displays wanted, the first included; empty means 1."),
    Column("allowed_spread", cells.quantity("percent", Decimal(0)), meaning="Such as 5 %; empty means 5 %."),
    Column("open_circuit_min", cells.quantity("voltage", Decimal(0)), meaning="Such as 4 V."),
    Column("open_circuit_max", cells.quantity("voltage", Decimal(0)), meaning="Such as 24 V."),
)


class Limits(Editions):
    """New editions of limits. Verdicts stored before stay as they were."""

    kind = ImportKind.LIMITS
    columns = COLUMNS
    model = LimitRule
    adoption_field = "limit"

    def own_facts(self, row: Row, faults: Faults) -> dict[str, Any]:
        least, most = row["open_circuit_min"], row["open_circuit_max"]
        if (least is None) != (most is None) or (least is not None and least > most):
            faults.add(
                row.line, "open_circuit_min", "Give the lower and the upper voltage, the lower one first."
            )
        limit, reference = row["limit"], row["reference_temperature"]
        if row["times_per_electrode"] is not None:
            self._check_times(row, faults)
        given = isinstance(limit, cells.Shown)
        return {
            "quantity": row["quantity"],
            "limit_ohm": limit.value if given else None,
            "limit_unit": limit.unit if given else "Ω",
            "times_per_electrode": row["times_per_electrode"],
            "reference_temperature_c": None if reference == AS_FOUND else reference,
            "decision": row["decision"],
            "guard": Decimal(1) if row["guard"] is None else row["guard"],
            "methods": ",".join(row["methods"] or ()),
            "minimum_current_a": row["minimum_current"],
            "repeats": row["repeats"] or 1,
            "allowed_spread_percent": Decimal(5) if row["allowed_spread"] is None else row["allowed_spread"],
            "open_circuit_min_v": least,
            "open_circuit_max_v": most,
        }

    @staticmethod
    def _check_times(row: Row, faults: Faults) -> None:
        if row["times_per_electrode"] == 0:
            faults.add(
                row.line, "times_per_electrode", "The factor is above zero; write 1 for n times the whole."
            )
        if row["quantity"] not in (None, Quantity.EARTH):
            faults.add(
                row.line, "times_per_electrode", "This is asked of one electrode only: the quantity is earth."
            )
        if row["limit"] == NO_LIMIT:
            faults.add(
                row.line, "times_per_electrode", "Without a limit of the whole there is nothing to multiply."
            )


__all__ = ["COLUMNS", "Limits"]
