"""Defects, and the acts on them there and at a visit."""

from tests.access import rows
from tests.access.cast import (
    EVERY_ROLE,
    EVERYBODY,
    FACILITY,
    INSPECTOR,
    PLANNER,
    QUALITY,
    REVIEWER,
    SIGNATORY,
    only,
)
from tests.access.line import Line

TELLS, ENTERS = only(INSPECTOR, REVIEWER), only(INSPECTOR)
FOLLOWS = only(PLANNER, INSPECTOR, REVIEWER)
ACCEPTS = only(PLANNER, REVIEWER, SIGNATORY, QUALITY, FACILITY)

LINES = [
    Line("defects", get=EVERYBODY, rows=rows.defects),
    Line(
        "defect",
        get=EVERY_ROLE,
        of=lambda stage: stage.defect,
        rows=rows.readings_of_the_defects_point,
    ),
    Line("defect-tell", post=TELLS, of=lambda stage: stage.defect),
    Line("defect-make-safe", post=FOLLOWS, of=lambda stage: stage.defect),
    Line("defect-repair", post=FOLLOWS, of=lambda stage: stage.defect),
    Line("defect-retest", post=FOLLOWS, of=lambda stage: stage.defect),
    Line("defect-accept", post=ACCEPTS, of=lambda stage: stage.defect),
    Line("defect-withdraw", post=only(REVIEWER, SIGNATORY), of=lambda stage: stage.defect),
    Line("defect-seen-again", post=ENTERS, of=lambda stage: stage.defect),
    Line("visit-danger-told", post=ENTERS, of=lambda stage: stage.visit),
    Line("visit-seen-again", post=ENTERS, of=lambda stage: stage.visit),
    Line("visit-retest", post=ENTERS, of=lambda stage: stage.visit),
]
