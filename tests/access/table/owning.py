"""Whoever answers for buildings: the portfolio, what they say of a structure; any past day."""

from inspections.models import Suspension
from tests.access import rows
from tests.access.cast import (
    AUDITOR,
    EVERY_ROLE,
    FACILITY,
    OFFICE,
    PLANNER,
    QUALITY,
    REVIEWER,
    SIGNATORY,
    only,
)
from tests.access.line import Line

OWNING = OFFICE | only(FACILITY)
REPORTING, PLANS, ADOPTING = only(PLANNER, FACILITY), only(PLANNER), only(SIGNATORY, QUALITY)
DROPPING = only(PLANNER, REVIEWER, SIGNATORY)
REPLAYING = OFFICE | only(AUDITOR)

LINES = [
    Line("buildings", get=OWNING, rows=rows.obligations),
    Line("past-day", get=REPLAYING, rows=rows.obligations),
    Line("past-day-text", get=REPLAYING),
    Line("past-day-structure", get=REPLAYING, of=lambda stage: stage.structure, rows=rows.rules),
    Line("report-event", get=REPORTING, post=REPORTING, of=lambda stage: stage.structure),
    Line("event-withdraw", get=DROPPING, post=DROPPING, of=lambda stage: stage.event),
    Line("suspend-structure", get=PLANS, post=PLANS, of=lambda stage: stage.structure),
    Line("wish-dates", get=only(FACILITY), post=only(FACILITY), of=lambda stage: stage.structure),
    Line("return-to-use", get=PLANS, post=PLANS, of=lambda stage: Suspension.objects.first()),
    Line("visit-entries", get=EVERY_ROLE, of=lambda stage: stage.visit, rows=rows.readings_of_the_visit),
    Line("days-after-events", get=ADOPTING, post=ADOPTING),
]
