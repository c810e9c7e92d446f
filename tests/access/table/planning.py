"""Moving and cancelling visits, the workload, the year, calendars and reminders."""

from inspections.models import VisitState
from tests.access.cast import PLANNER, only
from tests.access.line import Line

PLANS = only(PLANNER)

LINES = [
    Line("visit-move", post=PLANS, of=lambda stage: stage.visits[VisitState.PLANNED]),
    Line("visit-cancel", post=PLANS, of=lambda stage: stage.visits[VisitState.PLANNED]),
    Line("visit-take-along", post=PLANS, of=lambda stage: stage.visits[VisitState.PLANNED]),
]
