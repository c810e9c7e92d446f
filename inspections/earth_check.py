"""The whole earth of a structure against its electrodes, as read at the last visit that read any earth."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Count

from inspections.calculations import rods_together
from inspections.calculations.printing import resistance
from inspections.calculations.rods_together import AGREES, HIGHER, WholeAgainstParts
from inspections.models import Reading
from sites.models import Quantity, Structure, TestPoint

EARTHS = (Quantity.EARTH, Quantity.EARTH_SYSTEM)
LOOP = "clamp-on"
OPEN = "open"


@dataclass(slots=True)
class EarthCheck:
    """One system's earths at one visit.

    whole: the reading of all joined, or None; parts: electrodes read isolated, by the whole's method; left_out:
    electrodes that were read otherwise; owed: electrodes of the system without such a reading
    """

    system: str
    visit: Any
    whole: Reading | None
    parts: list[Reading] = field(default_factory=list)
    left_out: list[Reading] = field(default_factory=list)
    owed: int = 0
    found: WholeAgainstParts | None = None

    @property
    def expected(self) -> str:
        """Of the electrodes side by side, in ohms as theirs are, however little it is."""
        values = [part.verdict.corrected_ohm for part in self.parts]
        return resistance(rods_together.parallel_ohm(values), "ohm", significant=4)  # type: ignore[arg-type]

    @property
    def question(self) -> str:
        """What the two values ask; an electrode that was not read lowers the whole, so then only a break is asked."""
        if self.found is None or self.found.finding == AGREES or self.whole is None:
            return ""
        if self.owed and self.found.finding != HIGHER:
            return ""
        asked = self.found.finding
        return f"{asked[:1].upper()}{asked[1:]}"

    @property
    def agrees(self) -> bool:
        return self.found is not None and self.found.finding == AGREES


def of_structure(structure: Structure, today: date) -> list[EarthCheck]:
    """By system; empty where there is nothing to compare. Three queries, however many electrodes."""
    rows = list(_read(structure))
    if not rows:
        return []
    by_system: dict[int, list[Reading]] = defaultdict(list)
    for row in rows:
        by_system[row.point.part.system_id].append(row)
    electrodes = dict(
        TestPoint.objects.filter(structure=structure, quantity=Quantity.EARTH)
        .standing_on(today)
        .order_by()
        .values_list("part__system")
        .annotate(n=Count("pk"))
    )
    found = (_check(own, electrodes.get(system, 0)) for system, own in by_system.items())
    return [check for check in found if len(check.parts) > 1 or (check.parts and check.whole)]


def _read(structure: Structure) -> Iterable[Reading]:
    """Readings of earths with a value above zero, at the last visit that has any."""
    rows = Reading.objects.standing().filter(
        point__structure=structure, point__quantity__in=EARTHS, verdict__corrected_order__gt=0
    )
    last = rows.order_by("-at", "-pk").values("visit")[:1]
    return (
        rows.filter(visit__in=list(last.values_list("visit", flat=True)))
        .select_related("verdict", "visit", "point__part__system")
        .order_by("point__number_order", "pk")
    )


def _check(rows: list[Reading], electrodes: int) -> EarthCheck:
    """A loop value is never joined to another method, nor one method to another."""
    wholes = [row for row in rows if row.point.quantity == Quantity.EARTH_SYSTEM and row.method != LOOP]
    whole = wholes[-1] if wholes else None
    singles = [row for row in rows if row.point.quantity == Quantity.EARTH]
    method = whole.method if whole else next((row.method for row in singles if row.method != LOOP), "")
    parts = [row for row in singles if row.method == method and OPEN in row.joint_state.casefold()]
    check = EarthCheck(
        system=rows[0].point.part.system.name,
        visit=rows[0].visit,
        whole=whole,
        parts=parts,
        left_out=[row for row in singles if row not in parts],
        owed=max(0, electrodes - len({row.point_id for row in parts})),
    )
    if whole is not None and parts:
        check.found = rods_together.whole_against_parts(_value(whole), [_value(row) for row in parts])
    return check


def _value(row: Reading) -> Decimal:
    value = row.verdict.corrected_ohm
    assert value is not None  # noqa: S101 - the query asks for one
    return value
