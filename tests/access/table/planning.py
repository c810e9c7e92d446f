"""Moving and cancelling visits, the workload, the year, calendars and reminders."""

from typing import Any

from inspections.actions import calendars
from inspections.models import CalendarFeed, VisitState
from inspections.rules.bring_forward import monday_of
from tests.access import rows
from tests.access.cast import EVERYBODY, EVERYONE, FACILITY, OFFICE, PLANNER, only
from tests.access.line import Line
from tests.inspections.views.visit_scene import NOW

PLANS = only(PLANNER)


def calendar_of(stage: Any) -> CalendarFeed:
    """The planner's own calendar."""
    return calendars.make(stage.firm, by=stage.people[PLANNER], at=NOW)[0]


def secret_of(stage: Any) -> str:
    """The secret in its address, which needs nothing else."""
    return calendars.make(stage.firm, by=stage.people[PLANNER], at=NOW)[1]


LINES = [
    Line("visit-move", post=PLANS, of=lambda stage: stage.visits[VisitState.PLANNED]),
    Line("visit-cancel", post=PLANS, of=lambda stage: stage.visits[VisitState.PLANNED]),
    Line("visit-change-plan", get=PLANS, of=lambda stage: stage.visits[VisitState.PLANNED]),
    Line("visit-assign", post=PLANS, of=lambda stage: stage.visits[VisitState.PLANNED]),
    Line("visit-take-along", post=PLANS, of=lambda stage: stage.visits[VisitState.PLANNED]),
    Line("year", get=EVERYBODY, rows=rows.sites),
    Line("planning", get=OFFICE, rows=rows.planned),
    Line("planning-asked", get=OFFICE, rows=rows.planned),
    Line(
        "planning-week", get=OFFICE, of=lambda stage: monday_of(NOW.date()).isoformat(), seen_by=EVERYONE,
        rows=rows.due_this_week,
    ),
    Line("reminders", get=only(PLANNER, FACILITY), post=only(PLANNER, FACILITY)),
    Line("calendars", get=EVERYBODY, post=EVERYBODY),
    Line("calendar-replace", post=only(PLANNER), of=lambda stage: calendar_of(stage), seen_by=only(PLANNER)),
    Line("calendar-revoke", post=only(PLANNER), of=lambda stage: calendar_of(stage), seen_by=only(PLANNER)),
    Line("calendar", get=EVERYBODY, of=lambda stage: secret_of(stage), seen_by=EVERYONE, public=True),
]  # fmt: skip
