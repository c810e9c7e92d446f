"""The next twelve weeks as a strip: what is overdue, then a bar for each obligation in the week it falls due."""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import Exists, F, QuerySet

from inspections.due_list import running, settling_visits
from inspections.local_days import usual_day
from inspections.models import DueDate

WEEKS = 12
# More than this is no picture any more, and the list below says it better.
MOST_BARS = 120
TALLEST = 10


@dataclass(slots=True)
class Week:
    """monday: its first day, None for what is overdue; bars: one an obligation, True where a visit is planned

    This week also has what is in grace. narrowed: what the due list is asked for to show the same obligations
    """

    monday: date | None
    narrowed: str = ""
    bars: list[bool] = field(default_factory=list)

    @property
    def unplanned(self) -> int:
        return self.bars.count(False)


def strip(rows: QuerySet[DueDate], at: datetime) -> list[Week]:
    """Overdue and twelve weeks from this Monday, in one query; [] where it would not make a picture.

    rows: obligations ``with_today``
    """
    today = usual_day(at)
    monday = today - timedelta(days=today.weekday())
    planned = Exists(settling_visits().order_by())
    within = (
        running(rows)
        .filter(due__lt=monday + timedelta(weeks=WEEKS))
        .annotate(here=F("today"), planned=planned)
    )
    owed = list(within.values_list("due", "grace_until", "here", "planned")[: MOST_BARS + 1])
    mondays = [monday + timedelta(weeks=n) for n in range(WEEKS)]
    weeks = [Week(None, "state=overdue"), *(Week(each, f"week={each.isoformat()}") for each in mondays)]
    for due, grace_until, here, is_planned in owed:
        week = 0 if grace_until < here else 1 + max(0, (due - monday).days // 7)
        weeks[week].bars.append(is_planned)
    readable = len(owed) <= MOST_BARS and all(len(week.bars) <= TALLEST for week in weeks)
    return weeks if owed and readable else []
