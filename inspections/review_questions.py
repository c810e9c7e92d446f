"""What a visit's readings ask, gathered for the reviewing engineer: each says what was seen, none accuses."""

from dataclasses import dataclass
from typing import Any

from inspections.models import Verdict, Visit
from inspections.tables import figures

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
    """Everything the readings that stand ask, in a constant number of queries."""
    verdicts = Verdict.objects.filter(reading__in=visit.readings.standing())
    asking = (
        verdicts.exclude(questions="")
        .select_related("reading__point")
        .order_by("reading__point__number_order", "pk")
    )
    points = [AtPoint(row, row.questions.split("\n")) for row in asking[:MOST_POINTS]]
    count = len(points) if len(points) < MOST_POINTS else asking.count()
    return ReviewQuestions(whole=[], points=points, count=count, readings=verdicts.count())
