"""What a visit's readings ask, gathered for the reviewing engineer: each says what was seen, none accuses."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from inspections.models import Verdict, Visit
from inspections.tables import figures
from inspections.visit_questions import questions_of

MOST_POINTS = 100


@dataclass(frozen=True, slots=True)
class AtPoint:
    """One reading with what it asks."""

    verdict: Verdict
    asked: list[str]

    @property
    def displayed(self) -> Any:
        return figures.displayed(self.verdict.reading)


@dataclass(frozen=True, slots=True)
class ReviewQuestions:
    """whole: on the visit as a whole; points: by point, the first MOST_POINTS of count; readings: how many stand"""

    whole: list[str]
    points: list[AtPoint]
    count: int
    readings: int

    @property
    def more(self) -> int:
        return self.count - len(self.points)


def of_visit(visit: Visit) -> ReviewQuestions:
    """Everything the readings that stand ask, in a constant number of queries.

    A reading's verdict keeps what it asked; what only the whole visit shows of a point is added where it asks nothing.
    """
    asked = questions_of(visit)
    of_points: dict[int, list[str]] = defaultdict(list)
    for question in asked:
        if question.point is not None:
            of_points[question.point.pk].append(question.sentence)
    verdicts = Verdict.objects.filter(reading__in=visit.readings.standing())
    asking = (
        verdicts.filter(~Q(questions="") | Q(reading__point__in=list(of_points)))
        .select_related("reading__point")
        .order_by("reading__point__number_order", "pk")
    )
    points = [
        AtPoint(row, row.questions.split("\n") if row.questions else of_points[row.reading.point_id])
        for row in asking[:MOST_POINTS]
    ]
    return ReviewQuestions(
        whole=[question.sentence for question in asked if question.point is None],
        points=points,
        count=len(points) if len(points) < MOST_POINTS else asking.count(),
        readings=verdicts.count(),
    )
