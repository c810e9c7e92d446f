"""Whoever answers for buildings: the portfolio; any past day."""

from tests.access.cast import AUDITOR, FACILITY, OFFICE, only
from tests.access.line import Line

OWNING = OFFICE | only(FACILITY)
REPLAYING = OFFICE | only(AUDITOR)

LINES = [
    Line("buildings", get=OWNING),
    Line("past-day", get=REPLAYING),
    Line("past-day-text", get=REPLAYING),
    Line("past-day-structure", get=REPLAYING, of=lambda stage: stage.structure),
]
