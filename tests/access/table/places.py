"""What is due, sites and structures."""

from tests.access import rows
from tests.access.cast import EVERY_ROLE, EVERYBODY
from tests.access.line import Line

LINES = [
    Line("due", get=EVERYBODY, rows=rows.obligations),
    Line("sites", get=EVERYBODY, rows=rows.sites),
    Line("site", get=EVERY_ROLE, of=lambda stage: stage.site, rows=rows.structures),
    Line("structure", get=EVERY_ROLE, of=lambda stage: stage.structure, rows=rows.points),
    Line("due-days", get=EVERY_ROLE, of=lambda stage: stage.structure),
]
