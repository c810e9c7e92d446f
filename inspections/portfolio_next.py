"""What waits for whoever answers for buildings: urgent defects first, then what is overdue and nobody has planned."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.urls import reverse

from inspections import due_list
from inspections.models import Defect, DueDate
from inspections.next_list import MOST, Step
from inspections.portfolio import open_defects, urgent
from inspections.standing_words import Owed, age_in_words
from sites.models import Structure
from sites.templatetags.downlead import day

MOST_DEFECTS = 4


def steps(structures: QuerySet[Structure], owed: QuerySet[DueDate], at: datetime) -> list[Step]:
    """At most seven, in two queries.

    structures: those the person may see; owed: obligations ``with_today`` of them
    """
    found = [_defect_step(defect, at) for defect in _defects(structures)]
    late = due_list.slice_of([due_list.overdue(owed, at)], 0, 3 * MOST)
    first_of: dict[int, Owed] = {}
    for one in late:
        first_of.setdefault(one.row.structure_id, one)
    # What nobody has planned waits for somebody to act; a planned visit is in hand.
    found += [_late_step(one) for one in sorted(first_of.values(), key=lambda one: one.visit is not None)]
    return found[:MOST]


def _defects(structures: QuerySet[Structure]) -> list[Defect]:
    rows = urgent(open_defects()).filter(structure__in=structures.order_by().values("pk"))
    rows = rows.select_related("structure__site", "urgency", "visit").order_by("found_at", "pk")
    return list(rows[:MOST_DEFECTS])


def _defect_step(defect: Defect, at: datetime) -> Step:
    zone = ZoneInfo(defect.structure.site.time_zone)
    found = defect.found_at.astimezone(zone).date()
    age = (at.astimezone(zone).date() - found).days
    return Step(
        state="open",
        words=f"{defect.urgency.word}, open for {age_in_words(age)}",
        family="defect",
        what=f"{defect.structure.name}, {defect.place}: {defect.words}",
        more=f"Found on {day(found)} at visit {defect.visit.number}; no repair is recorded.",
        label="See the defect",
        address=reverse("visit", args=[defect.visit_id]) + "#defects",
    )


def _late_step(owed: Owed) -> Step:
    row = owed.row
    planned = f"A visit is planned for {day(owed.visit_on)}." if owed.visit_on else "No visit is planned."
    return Step(
        state=owed.state,
        words=owed.words,
        family="obligation",
        what=f"{row.structure.name}, {row.site.name}: {row.demand} inspection was due {day(row.due)}.",
        more=f"{row.author}. {planned}",
        label="See the visit" if owed.visit else "See why",
        address=reverse("visit", args=[owed.visit])
        if owed.visit
        else reverse("structure", args=[row.structure_id]) + "#rules",
    )
