"""Defects by consequence: told as dangerous and open first, then the most urgent, then the oldest.

The state is worked out in the database for sorting and filtering, and is the same that ``rules.defects`` gives.
"""

from datetime import datetime
from typing import Any

from django.db.models import (
    BooleanField,
    Case,
    CharField,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)

from inspections.defect_life import Life, lives_of
from inspections.local_days import local_day
from inspections.models import Defect, DefectStep, DefectStepKind
from inspections.rules.defects import State
from sites.models import Structure

SOON_DAYS = 60
DECIDING = (DefectStepKind.MADE_SAFE, DefectStepKind.REPAIRED, DefectStepKind.RETESTED)
SHOWN = ("urgency__scheme", "point", "visit", "structure__site__client")
# What somebody must still act on: neither ended nor accepted until a day.
TO_ACT_ON = (State.OPEN, State.MADE_SAFE, State.REPAIRED)
STANDING = (*TO_ACT_ON, State.ACCEPTED)


def with_state(defects: QuerySet[Defect], at: datetime) -> QuerySet[Any]:
    """Adds ``state``, ``told``, ``is_danger``, ``accepted_until``, and at the site ``today`` and 60 days later."""
    steps = DefectStep.objects.filter(defect=OuterRef("pk"))
    last = steps.counting().order_by("-at", "-pk").values("kind")
    decided = last.filter(kind__in=DECIDING)
    found = defects.annotate(
        today=local_day("structure__site__time_zone", at),
        soon_until=local_day("structure__site__time_zone", at, plus_days=SOON_DAYS),
        told=Exists(steps.filter(kind=DefectStepKind.TOLD)),
        gone=Exists(steps.filter(kind=DefectStepKind.WITHDRAWN)),
        decided=Subquery(decided[:1]),
        moved=Subquery(last.filter(kind__in=(*DECIDING, DefectStepKind.SEEN_AGAIN))[:1]),
        accepted_until=Subquery(
            steps.filter(kind=DefectStepKind.ACCEPTED).order_by("-pk").values("until")[:1]
        ),
    ).annotate(state=_state())
    danger = Case(
        When(told=True, state=State.OPEN, then=Value(True)), default=Value(False), output_field=BooleanField()
    )
    return found.annotate(is_danger=danger)


def _state() -> Case:
    back = Q(moved=DefectStepKind.SEEN_AGAIN)
    repaired = (DefectStepKind.REPAIRED, DefectStepKind.RETESTED)
    unrepaired = Q(decided__isnull=True) | Q(decided=DefectStepKind.MADE_SAFE) | back
    return Case(
        When(gone=True, then=Value(State.WITHDRAWN)),
        When(unrepaired & Q(accepted_until__gte=F("today")), then=Value(State.ACCEPTED)),
        When(Q(decided__in=repaired) & back, then=Value(State.OPEN)),
        When(decided=DefectStepKind.RETESTED, then=Value(State.CLOSED)),
        When(decided=DefectStepKind.REPAIRED, then=Value(State.REPAIRED)),
        When(decided=DefectStepKind.MADE_SAFE, then=Value(State.MADE_SAFE)),
        default=Value(State.OPEN),
        output_field=CharField(),
    )


def by_consequence(defects: QuerySet[Any]) -> QuerySet[Any]:
    """Takes rows ``with_state``."""
    return defects.order_by("-is_danger", "urgency__rank", "found_at", "pk")


def that_stand(defects: QuerySet[Any]) -> QuerySet[Any]:
    """Neither closed nor withdrawn. Takes rows ``with_state``."""
    return defects.filter(state__in=STANDING)


def ending_soon(defects: QuerySet[Any]) -> QuerySet[Any]:
    """Accepted until a day within 60 days from today, that day included. Takes rows ``with_state``."""
    return defects.filter(state=State.ACCEPTED, accepted_until__lte=F("soon_until"))


def page_of(defects: QuerySet[Any], start: int, stop: int, *, at: datetime) -> list[Life]:
    """Rows start to stop, each with its life, in two queries."""
    return lives_of(defects.select_related(*SHOWN)[start:stop], at)


def standing_at(structure: Structure, at: datetime, most: int) -> list[Life]:
    """The defects of a structure that are neither closed nor withdrawn, by consequence; ``most`` at most."""
    rows = with_state(Defect.objects.filter(structure=structure), at)
    return page_of(by_consequence(that_stand(rows)), 0, most, at=at)
