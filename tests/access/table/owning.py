"""Whoever answers for buildings: the portfolio."""

from tests.access.cast import FACILITY, OFFICE, only
from tests.access.line import Line

OWNING = OFFICE | only(FACILITY)

LINES = [
    Line("buildings", get=OWNING),
]
