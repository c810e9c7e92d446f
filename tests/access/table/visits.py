"""Visits, what was read at them, and the acts on them."""

from inspections.models import VisitState
from tests.access import rows
from tests.access.cast import EVERY_ROLE, EVERYBODY, FIRM, INSPECTOR, PLANNER, REVIEWER, only
from tests.access.line import Line

ENTERS, REVIEWS = only(INSPECTOR), only(REVIEWER)
REBASES = only(INSPECTOR, REVIEWER)

LINES = [
    Line("visits", get=EVERYBODY, rows=rows.visits),
    Line("plan-visit", get=only(PLANNER), post=only(PLANNER), of=lambda stage: stage.structure),
    Line("visit", get=EVERY_ROLE, of=lambda stage: stage.visit, rows=rows.readings_of_the_visit),
    Line("visit-enter", get=ENTERS, of=lambda stage: stage.visit),
    Line(
        "visit-point",
        get=ENTERS,
        post=ENTERS,
        of=lambda stage: (stage.visit, stage.point),
        rows=rows.open_points,
    ),
    Line("visit-point-reason", post=ENTERS, of=lambda stage: (stage.visit, stage.point)),
    Line("visit-start", post=ENTERS, of=lambda stage: stage.visits[VisitState.PLANNED]),
    Line("visit-conditions", post=ENTERS, of=lambda stage: stage.visit),
    Line("visit-readings-file", get=ENTERS, post=ENTERS, of=lambda stage: stage.visit),
    Line("visit-readings-sheet", get=ENTERS, of=lambda stage: stage.visit),
    Line("visit-document", get=FIRM, post=FIRM, of=lambda stage: stage.visit),
    Line("visit-no-reading", post=ENTERS, of=lambda stage: stage.visit),
    Line("visit-parts", get=EVERY_ROLE, of=lambda stage: stage.visit, rows=rows.parts_of_the_visit),
    Line("visit-parts-seen", post=ENTERS, of=lambda stage: stage.visit),
    Line("visit-part", get=ENTERS, post=ENTERS, of=lambda stage: (stage.visit, stage.point.part)),
    Line("part-look-correct", get=REBASES, post=REBASES, of=lambda stage: stage.look),
    Line("visit-defect", post=ENTERS, of=lambda stage: stage.visit),
    Line("visit-complete", post=ENTERS, of=lambda stage: stage.visit),
    Line("visit-hand-in", post=ENTERS, of=lambda stage: stage.visits[VisitState.FIELD_COMPLETE]),
    Line("visit-approve", post=REVIEWS, of=lambda stage: stage.visits[VisitState.IN_REVIEW]),
    Line("visit-send-back", post=REVIEWS, of=lambda stage: stage.visits[VisitState.IN_REVIEW]),
    Line("visit-restate", post=REBASES, of=lambda stage: stage.visits[VisitState.AMENDING]),
    Line("import-withdraw", post=ENTERS, of=lambda stage: stage.file),
    Line("point", get=EVERY_ROLE, of=lambda stage: stage.point, rows=rows.readings_of_the_point),
    Line("reading", get=EVERY_ROLE, of=lambda stage: stage.reading),
    Line("reading-correct", get=REBASES, post=REBASES, of=lambda stage: stage.reading),
    Line("reading-rebase", post=REBASES, of=lambda stage: stage.reading),
]
