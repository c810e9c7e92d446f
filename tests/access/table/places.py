"""What is due, sites and structures."""

from tests.access.cast import EVERY_ROLE, EVERYBODY
from tests.access.line import Line

LINES = [
    Line("due", get=EVERYBODY),
    Line("sites", get=EVERYBODY),
    Line("site", get=EVERY_ROLE, of=lambda stage: stage.site),
    Line("structure", get=EVERY_ROLE, of=lambda stage: stage.structure),
]
