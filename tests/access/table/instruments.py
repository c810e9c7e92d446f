"""Instruments and their calibrations."""

from tests.access import rows
from tests.access.cast import AT_THE_SITE, EVERY_ROLE, EVERYBODY, PLANNER, QUALITY, UNASSIGNED, only
from tests.access.line import Line

CHANGES = only(PLANNER, QUALITY)
# The firm's people see what it measures with; others what was used where they may look.
SEEN = AT_THE_SITE | {UNASSIGNED}


def _calibration(stage):  # type: ignore[no-untyped-def]
    return stage.instrument.calibrations.order_by("pk").first()


LINES = [
    Line("instruments", get=EVERYBODY, rows=rows.instruments),
    Line("instrument-add", get=CHANGES, post=CHANGES),
    Line(
        "instrument",
        get=EVERY_ROLE,
        of=lambda stage: stage.instrument,
        seen_by=SEEN,
        query="day=2027-05-01",
        rows=rows.of_the_instrument,
    ),
    Line("instrument-range", get=CHANGES, post=CHANGES, of=lambda stage: stage.instrument, seen_by=SEEN),
    Line("instrument-calibrate", get=CHANGES, post=CHANGES, of=lambda stage: stage.instrument, seen_by=SEEN),
    Line("instrument-retire", get=CHANGES, post=CHANGES, of=lambda stage: stage.instrument, seen_by=SEEN),
    Line("calibration-correct", get=CHANGES, post=CHANGES, of=_calibration, seen_by=SEEN),
    Line("calibration-withdraw", get=CHANGES, post=CHANGES, of=_calibration, seen_by=SEEN),
    Line("calibration-file", get=EVERY_ROLE, of=_calibration, seen_by=SEEN),
]
