"""Within how many days of something that happened an inspection is due: the firm's own number, else the starter's."""

import csv
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

from django.db.models import Q

from inspections.models import EventAllowance, EventKind
from sites.models import Structure

STARTER = Path(__file__).resolve().parent.parent / "fixtures" / "starter" / "allowances.csv"


@dataclass(frozen=True, slots=True)
class Allowed:
    """days: to the inspection, from the day it happened; by: whose number it is, by which source, and how sure

    adopted: whether the firm has adopted it
    """

    kind: str
    days: int
    by: str
    adopted: bool


def allowed_after(structure: Structure, kind: str, on: date) -> Allowed:
    """What is allowed after an event of this kind on that day. Of several adopted numbers the least governs.

    structure: with its site's client
    """
    site = structure.site
    here = Q(structure=structure.pk) | Q(structure=None)
    here &= Q(site=site.pk) | Q(site=None)
    here &= Q(client=site.client_id) | Q(client=None)
    here &= Q(explosion_risk=structure.explosion_risk) | Q(explosion_risk=None)
    rows = EventAllowance.objects.adopted_on(on).filter(here, firm=site.client.firm_id, kind=kind)
    row = rows.order_by("within_days", "pk").first()
    if row is None:
        return starter()[kind]
    return Allowed(
        kind,
        row.within_days,
        f"{row.author_name}: {row.source}, {row.edition} ({row.get_status_display()})",
        True,
    )


@lru_cache(maxsize=1)
def starter() -> dict[str, Allowed]:
    """The numbers that stand where the firm has adopted none, by kind of event."""
    with STARTER.open(newline="", encoding="utf-8") as opened:
        rows = list(csv.DictReader(opened))
    found = {row["kind"]: Allowed(row["kind"], int(row["within_days"]), _told(row), False) for row in rows}
    if missing := set(EventKind.values) - set(found):
        raise LookupError(f"{STARTER.name} has no row for {', '.join(sorted(missing))}.")
    return found


def _told(row: dict[str, str]) -> str:
    return f"{row['author_name']}: {row['source']} ({row['note'].partition(';')[0]})"
