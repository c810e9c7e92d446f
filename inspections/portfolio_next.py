"""What waits for whoever answers for buildings: urgent defects first, then what is overdue and nobody has planned."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.urls import reverse

from inspections import defect_list, due_list
from inspections.models import DueDate
from inspections.next_list import MOST, Step
from inspections.portfolio import address_of, open_defects, urgent
from inspections.standing_words import Owed, age_words
from sites import access
from sites.models import Person, Structure
from sites.templatetags.downlead import day

MOST_DEFECTS = 4


def steps(
    structures: QuerySet[Structure], owed: QuerySet[DueDate], at: datetime, *, person: Person
) -> list[Step]:
    """At most seven, in three queries.

    structures: those the person may see; owed: obligations ``with_today`` of them
    """
    found = [_defect_step(defect, at) for defect in _defects(structures, at)]
    late = due_list.slice_of([due_list.overdue(owed, at)], 0, 3 * MOST, at=at)
    first_of: dict[int, Owed] = {}
    for one in late:
        first_of.setdefault(one.row.structure_id, one)
    near = {one.row.site.pk for one in first_of.values()}
    wished_at = access.sites_where(person, [access.WISH_DATES], near, on=at.date())
    # What nobody has planned waits for somebody to act; a planned visit is in hand.
    found += [
        _late_step(one, one.row.site.pk in wished_at)
        for one in sorted(first_of.values(), key=lambda one: one.visit is not None)
    ]
    return found[:MOST]


def _defects(structures: QuerySet[Structure], at: datetime) -> list[Any]:
    rows = urgent(open_defects(at)).filter(structure__in=structures.order_by().values("pk"))
    rows = rows.select_related("structure__site", "urgency", "visit")
    return list(defect_list.by_consequence(rows)[:MOST_DEFECTS])


def _defect_step(defect: Any, at: datetime) -> Step:
    zone = ZoneInfo(defect.structure.site.time_zone)
    found = defect.found_at.astimezone(zone).date()
    age = age_words(found, at.astimezone(zone).date())
    return Step(
        state="dangerous" if defect.is_danger else "open",
        words=f"{'told as dangerous' if defect.is_danger else defect.urgency.word}, open for {age}",
        family="defect",
        what=f"{defect.structure.name}, {defect.place}: {defect.words}",
        more=f"Found on {day(found)} at visit {defect.visit.number}; no repair is recorded.",
        label="See the defect",
        address=address_of(defect),
    )


def _late_step(owed: Owed, may_wish: bool) -> Step:
    row = owed.row
    planned = f"A visit is planned for {day(owed.visit_on)}." if owed.visit_on else "No visit is planned."
    if owed.visit:
        label, address = "See the visit", reverse("visit", args=[owed.visit])
    elif may_wish:
        label, address = "Give dates for a visit", reverse("wish-dates", args=[row.structure_id])
    else:
        label, address = "See the structure", reverse("structure", args=[row.structure_id])
    return Step(
        state=owed.state,
        words=owed.words,
        family="obligation",
        what=f"{row.structure.name}, {row.site.name}: {row.asked_for} was due {day(row.due)}.",
        more=f"{row.author}. {planned}",
        label=label,
        address=address,
        why=owed.working,
    )
