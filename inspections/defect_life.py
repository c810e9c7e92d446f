"""The lives of defects: rows to the pure state function, for one or many in a constant number of queries."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from inspections.models import Defect, DefectStep, DefectStepKind
from inspections.rules import defects as rules


def steps_of(defects: Iterable[Defect]) -> QuerySet[Any]:
    """The rows of these defects in the order of when they were so, with ``void``: a re-test that lost its reading."""
    return (
        DefectStep.objects.filter(defect__in=[defect.pk for defect in defects])
        .with_void()
        .select_related("by", "visit", "reading__point", "reading__verdict")
        .order_by("at", "pk")
    )


def lives(defects: Iterable[Defect]) -> dict[int, list[Any]]:
    """The rows of each defect by its key, in one query."""
    found: dict[int, list[Any]] = defaultdict(list)
    asked = list(defects)
    for step in steps_of(asked) if asked else ():
        found[step.defect_id].append(step)
    return {defect.pk: found[defect.pk] for defect in asked}


def standing_of(
    defect: Defect, steps: Iterable[Any], at: datetime, *, on: date | None = None
) -> rules.Standing:
    """What a defect is now, or on a day at its site.

    defect: with its structure's site; steps: from ``steps_of``
    """
    zone = ZoneInfo(defect.structure.site.time_zone)
    day = on or at.astimezone(zone).date()
    told = [
        rules.Step(
            rules.Kind(step.kind),
            step.at,
            step.at.astimezone(zone).date(),
            step.pk,
            step.until,
            not step.void,
        )
        for step in steps
    ]
    return rules.standing(told, found_on=found_on(defect), on=day)


def found_on(defect: Defect) -> date:
    """The site's own day of the finding."""
    return defect.structure.site.day_at(defect.found_at)


@dataclass(frozen=True, slots=True)
class Life:
    """A defect with its rows and what they make of it on a day.

    visits: at how many it was seen; age: in days; until_day: the day to which its age is counted
    """

    defect: Defect
    steps: list[Any]
    standing: rules.Standing
    visits: int
    age: int
    until_day: date

    @property
    def found_on(self) -> date:
        return found_on(self.defect)

    @property
    def is_danger(self) -> bool:
        """Told as dangerous, and still open."""
        return self.standing.told and self.standing.state is rules.State.OPEN


def lives_of(defects: Iterable[Defect], at: datetime) -> list[Life]:
    """Each defect with its life as it is now, in the order given, in one query for all of them."""
    asked = list(defects)
    rows = lives(asked)
    return [life_of(defect, rows[defect.pk], at) for defect in asked]


def life_of(defect: Defect, steps: list[Any], at: datetime) -> Life:
    stands = standing_of(defect, steps, at)
    again = {step.visit_id for step in steps if step.kind == DefectStepKind.SEEN_AGAIN}
    today = defect.structure.site.day_at(at)
    age = rules.age_days(found_on(defect), stands, today)
    until = stands.since if stands.settled else today
    return Life(defect, steps, stands, len(again | {defect.visit_id}), age, until)
