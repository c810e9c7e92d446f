"""Audit samples."""

from typing import Any

from inspections.actions.samples import draw_sample
from inspections.audit_sample import Wanted
from tests.access import rows
from tests.access.cast import AUDITOR, EVERYBODY, OFFICE, only
from tests.access.line import Line
from tests.inspections.views.visit_scene import NOW

SEE = OFFICE | only(AUDITOR)


def drawing(stage: Any) -> Any:
    """One by the auditor; the office sees it too."""
    return draw_sample(Wanted("points", 2, "seed"), firm=stage.firm, by=stage.people[AUDITOR], at=NOW)


LINES = [
    Line("audit-sample", get=SEE, post=SEE, rows=rows.samples),
    Line("audit-sample-drawn", get=EVERYBODY, of=drawing, seen_by=SEE),
    Line(
        "audit-sample-drawn-from",
        get=EVERYBODY,
        of=drawing,
        seen_by=SEE,
        rows=rows.open_points,
    ),
]
