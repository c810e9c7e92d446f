"""Issued reports."""

from inspections.models import VisitState
from tests.access import rows
from tests.access.cast import AUDITOR, EVERY_ROLE, EVERYBODY, OFFICE, REVIEWER, SIGNATORY, only
from tests.access.line import Line

SIGNS = only(SIGNATORY)

LINES = [
    Line("overdue-register", get=EVERYBODY),
    Line("overdue-register-then", get=OFFICE | only(AUDITOR)),
    Line("reports", get=EVERYBODY, rows=rows.reports),
    Line("report", get=EVERY_ROLE, of=lambda stage: stage.issue),
    Line("report-file", get=EVERY_ROLE, of=lambda stage: stage.issue),
    Line("report-make-file", post=SIGNS, of=lambda stage: stage.fileless),
    Line("report-propose", post=only(REVIEWER), of=lambda stage: stage.issue),
    Line("report-amend", post=SIGNS, of=lambda stage: stage.issue),
    Line("report-close", post=SIGNS, of=lambda stage: stage.amended),
    Line("report-withdraw", post=SIGNS, of=lambda stage: stage.issue),
    Line("visit-report", get=EVERY_ROLE, of=lambda stage: stage.issue.visit),
    Line("visit-authorise", post=SIGNS, of=lambda stage: stage.visits[VisitState.APPROVED]),
]
